//! What `jumpseat export` writes, as other people's readers read it: the demo
//! drive in every format, field by field against the logbook.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use jumpseat_test_kit::{CommandReply, DEMO_TRIP, TestHome, built, done, outside_script};
use serde::Deserialize;
use serde_json::Value;

use crate::logbook::ReferenceLogbook;

type RowFields = BTreeMap<String, String>;

#[derive(Debug, Deserialize)]
struct ExportsReport {
    adi: Vec<RowFields>,
    adx: Vec<RowFields>,
    adx_version: String,
    csv: Vec<RowFields>,
    waypoints: Vec<GpxWaypoint>,
    tracks: Vec<String>,
    points: usize,
    in_order: bool,
    length_m: f64,
}

#[derive(Debug, Deserialize)]
struct GpxWaypoint {
    name: String,
    lat: f64,
    lon: f64,
    time: String,
}

/// Names and remarks with all that a format may stumble over.
const NAME: &str = "Zoë \"R\" <&>";
const REMARK: &str = "at the pass, with; signs ' and ]]>";

/// The demo, with a portable station, and its logbook's contacts.
fn portable_demo() -> (ReferenceLogbook, Vec<Value>) {
    let book = ReferenceLogbook::demo();
    let said = ["--call", "KB0QSE/M", "--name", NAME, "--comment", REMARK];
    book.run(&[&["confirm", "1"], &said[..]].concat());
    let contacts = book.contacts();
    (book, contacts)
}

#[test]
fn every_format_reads_back_as_it_was() {
    let (book, contacts) = portable_demo();
    assert_eq!(contacts.len(), 2);
    let files = ["adif", "adx", "csv", "gpx"].map(|format| book.export(format));
    let mut reader = outside_script("exports.py").unwrap();
    let told = done(reader.args(&files)).unwrap();
    let told: ExportsReport = serde_json::from_str(&told).unwrap();

    assert_eq!(told.adx_version, "3.1.6");
    assert_eq!((told.adi.len(), told.adx.len(), told.csv.len()), (2, 2, 2));
    let mut fields = 0;
    for (adi, adx) in told.adi.iter().zip(&told.adx) {
        let plain: RowFields = adx
            .iter()
            .filter(|(name, _)| !name.ends_with("_INTL"))
            .map(|(name, value)| (name.clone(), value.clone()))
            .collect();
        assert_eq!(&plain, adi);
        assert_eq!(adi["MY_CNTY"], "WY,Sweetwater");
        assert_eq!(adi["MY_COUNTRY"], "UNITED STATES OF AMERICA");
        fields += adx.len();
    }
    assert_eq!(told.adx[0]["NAME_INTL"], NAME);
    assert_eq!(told.adx[0]["COMMENT"], REMARK);
    println!(
        "figure: exports: {fields} ADX fields by ElementTree, the same as ADI fields by adif-io 0.6.1"
    );

    for (contact, row) in contacts.iter().zip(&told.csv) {
        for (column, key) in [
            ("call", "call"),
            ("band", "band"),
            ("mode", "mode"),
            ("submode", "submode"),
            ("report_sent", "sent"),
            ("report_received", "received"),
            ("name", "name"),
            ("comment", "comment"),
            ("station", "station"),
            ("locator", "locator"),
        ] {
            assert_eq!(
                row[column],
                contact[key].as_str().unwrap_or_default(),
                "{column}"
            );
        }
        let mhz: f64 = row["frequency_mhz"].parse().unwrap();
        assert_eq!((mhz * 1e6).round(), contact["hz"].as_f64().unwrap());
    }
    println!(
        "figure: exports: {} CSV columns by Python's csv",
        told.csv[0].len()
    );

    for (contact, point) in contacts.iter().zip(&told.waypoints) {
        assert_eq!(point.name, contact["call"].as_str().unwrap());
        let (lat, lon) = (&contact["lat"], &contact["lon"]);
        assert!((point.lat - lat.as_f64().unwrap()).abs() < 1e-6);
        assert!((point.lon - lon.as_f64().unwrap()).abs() < 1e-6);
        // To the second; how fractions are written differs.
        assert_eq!(point.time[..19], contact["on"].as_str().unwrap()[..19]);
    }
    assert_eq!(told.tracks.len(), 1);
    assert!(told.points > 150 && told.in_order);
    assert!(
        (1_000.0..20_000.0).contains(&told.length_m),
        "{}",
        told.length_m
    );
    println!(
        "figure: exports: {} waypoints, {} track points, {:.1} km by gpxpy 1.6.2",
        told.waypoints.len(),
        told.points,
        told.length_m / 1e3
    );
}

/// What ffprobe reads of a sound file besides the sound.
fn tags_by_ffprobe(file: &Path) -> Value {
    let mut probe = Command::new("ffprobe");
    probe.args(["-v", "error", "-show_format", "-of", "json"]);
    let told: Value = serde_json::from_str(&done(probe.arg(file)).unwrap()).unwrap();
    told["format"]["tags"].clone()
}

#[test]
fn a_clip_tells_ffprobe_when_it_began() {
    let (book, contacts) = portable_demo();
    let clips = book.export("clips");
    let mut waves: Vec<PathBuf> = fs::read_dir(clips)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "wav"))
        .collect();
    waves.sort();
    assert_eq!(waves.len(), 2);
    for (wave, contact) in waves.iter().zip(&contacts) {
        let tags = &tags_by_ffprobe(wave);
        let on: chrono::DateTime<chrono::Utc> = contact["on"].as_str().unwrap().parse().unwrap();
        // Two seconds before the contact, counted in samples since midnight.
        let begin = on - chrono::TimeDelta::seconds(2);
        assert_eq!(tags["date"], begin.format("%Y-%m-%d").to_string());
        assert_eq!(tags["creation_time"], begin.format("%H:%M:%S").to_string());
        let reference: f64 = tags["time_reference"].as_str().unwrap().parse().unwrap();
        let midnight = begin
            .date_naive()
            .and_time(chrono::NaiveTime::MIN)
            .and_utc();
        let expected = (begin - midnight).as_seconds_f64();
        assert!((reference / 16_000.0 - expected).abs() < 0.01);
        assert_eq!(tags["encoded_by"], "Jumpseat");
        let call = contact["call"].as_str().unwrap();
        assert!(tags["comment"].as_str().unwrap().starts_with(call));
    }
    println!("figure: exports: 2 clips with date, time and time reference as ffprobe reads them");
}

/// One over that runs across midnight, as the recorder would leave it with a
/// receiver that tells each second, and never a second late.
fn across_midnight(home: &TestHome) {
    let at = home.at("drive");
    fs::create_dir_all(&at).unwrap();
    let spec = hound::WavSpec {
        channels: 2,
        sample_rate: 16_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut wave = hound::WavWriter::create(at.join("drive.wav"), spec).unwrap();
    for n in 0..16_000 * 40 * 2 {
        wave.write_sample((n % 251) as i16).unwrap();
    }
    wave.finalize().unwrap();
    let start: chrono::DateTime<chrono::Utc> = "2026-05-14T23:59:40Z".parse().unwrap();
    let mut events = String::new();
    for second in 1..40 {
        let time = start + chrono::TimeDelta::seconds(second);
        let body = time
            .format("GPRMC,%H%M%S.00,A,4130.00,N,08115.00,W,10.0,90.0,%d%m%y,,,A")
            .to_string();
        let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
        let late = second as f64 + 0.1 + 0.01 * (second % 7) as f64;
        events.push_str(&format!(
            "{{\"at_s\":{late:.2},\"nmea\":\"${body}*{sum:02X}\"}}\n"
        ));
        if second == 15 || second == 25 {
            let down = second == 15;
            events.push_str(&format!("{{\"at_s\":{second}.5,\"ptt\":{down}}}\n"));
        }
    }
    fs::write(at.join("events.jsonl"), events).unwrap();
    fs::write(at.join("recorder.toml"), "card.board = \"3fa2c1\"\n").unwrap();
    let mut recorder = Command::new(built("jumpseat-recorder").unwrap());
    recorder.arg("simulate").arg(&at);
    recorder.arg("--config").arg(at.join("recorder.toml"));
    recorder.arg("--card").arg(home.path().join("trips"));
    CommandReply::of(&mut recorder).ended(0);
}

#[test]
fn every_segment_tells_mediainfo_and_ffprobe_its_date_time_and_time_reference_also_at_midnight() {
    let home = TestHome::empty().unwrap();
    across_midnight(&home);
    let export = ["export", "--format", "segments", "--trip", DEMO_TRIP];
    home.run(&[&export[..], &["--out", "segments"]].concat())
        .ended(0);
    let folder = home.at("segments");
    // Before the over, the over across midnight's ten seconds, and after it.
    let begins = [
        ("000001-rx.wav", "2026-05-14", 86_380.0),
        ("000002-tx.wav", "2026-05-14", 86_395.5),
        ("000003-rx.wav", "2026-05-15", 5.5),
    ];
    let mut worst_s = 0.0_f64;
    for (file, date, since_midnight) in begins {
        let tags = tags_by_ffprobe(&folder.join(file));
        assert_eq!(tags["date"], date, "{file}");
        let reference: f64 = tags["time_reference"].as_str().unwrap().parse().unwrap();
        let seconds = reference / 16_000.0;
        worst_s = worst_s.max((seconds - since_midnight).abs());
        let clock = seconds as u64;
        let clock = format!(
            "{:02}:{:02}:{:02}",
            clock / 3_600,
            clock / 60 % 60,
            clock % 60
        );
        assert_eq!(tags["creation_time"], clock, "{file}");
        let by_mediainfo = |what: &str| {
            let mut probe = Command::new("mediainfo");
            probe.arg(format!("--Output={what}"));
            done(probe.arg(folder.join(file))).unwrap()
        };
        let told = by_mediainfo("General;%Encoded_Date%|%Delay%|%Producer%");
        let delay = by_mediainfo("Audio;%Delay%").trim().to_owned();
        assert!(
            told.starts_with(&format!("{date} {clock}")),
            "{file}: {told}"
        );
        let delay_s = delay.parse::<f64>().unwrap() / 1e3;
        assert!((delay_s - seconds).abs() < 0.002, "{file}: {delay} ms");
    }
    println!(
        "figure: exports: 3 segments across midnight, date, time and time reference as ffprobe and mediainfo read them, {:.0} ms off at worst",
        worst_s * 1e3
    );
    assert!(worst_s < 0.5);
}
