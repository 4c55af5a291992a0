//! What `jumpseat export` writes, as other people's readers read it: the demo
//! drive in every format, field by field against the logbook.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use jumpseat_tests::tools;
use serde::Deserialize;
use serde_json::Value;

type Fields = BTreeMap<String, String>;

#[derive(Debug, Deserialize)]
struct Told {
    adi: Vec<Fields>,
    adx: Vec<Fields>,
    adx_version: String,
    csv: Vec<Fields>,
    waypoints: Vec<Waypoint>,
    tracks: Vec<String>,
    points: usize,
    in_order: bool,
    length_m: f64,
}

#[derive(Debug, Deserialize)]
struct Waypoint {
    name: String,
    lat: f64,
    lon: f64,
    time: String,
}

/// Names and remarks with all that a format may stumble over.
const NAME: &str = "Zoë \"R\" <&>";
const REMARK: &str = "at the pass, with; signs ' and ]]>";

fn jumpseat(folder: &Path, arguments: &[&str]) -> String {
    let mut command = Command::new(tools::built("jumpseat").unwrap());
    command.args(["--home", "demo/home"]).args(arguments);
    let output = tools::run(command.current_dir(folder)).unwrap();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(matches!(output.status.code(), Some(0 | 3)), "{said}");
    String::from_utf8(output.stdout).unwrap()
}

/// The demo, with a portable station, and its logbook's contacts.
fn demo(folder: &Path) -> Vec<Value> {
    jumpseat(folder, &["demo", "--into", "demo"]);
    let said = ["--call", "KB0QSE/M", "--name", NAME, "--comment", REMARK];
    jumpseat(folder, &[&["confirm", "1"], &said[..]].concat());
    let log: Vec<Value> = serde_json::from_str(&jumpseat(folder, &["log", "--json"])).unwrap();
    log.into_iter()
        .map(|entry| entry["contact"].clone())
        .collect()
}

fn export(folder: &Path, format: &str) -> PathBuf {
    let out = folder.join(format!("out.{format}"));
    let path = out.to_str().unwrap();
    jumpseat(
        folder,
        &["export", "--format", format, "--all", "--out", path],
    );
    out
}

#[test]
fn every_format_reads_back_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let contacts = demo(folder.path());
    assert_eq!(contacts.len(), 2);
    let files = ["adif", "adx", "csv", "gpx"].map(|format| export(folder.path(), format));
    let reader = Path::new(env!("CARGO_MANIFEST_DIR")).join("outside/exports.py");
    let mut command = Command::new(tools::python().unwrap());
    let output = tools::run(command.arg(reader).args(&files)).unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
    let told: Told = serde_json::from_slice(&output.stdout).unwrap();

    assert_eq!(told.adx_version, "3.1.6");
    assert_eq!((told.adi.len(), told.adx.len(), told.csv.len()), (2, 2, 2));
    let mut fields = 0;
    for (adi, adx) in told.adi.iter().zip(&told.adx) {
        let plain: Fields = adx
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

#[test]
fn a_clip_tells_ffprobe_when_it_began() {
    let folder = tempfile::tempdir().unwrap();
    let contacts = demo(folder.path());
    let clips = export(folder.path(), "clips");
    let mut waves: Vec<PathBuf> = fs::read_dir(clips)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "wav"))
        .collect();
    waves.sort();
    assert_eq!(waves.len(), 2);
    for (wave, contact) in waves.iter().zip(&contacts) {
        let mut command = Command::new("ffprobe");
        command.args(["-v", "error", "-show_format", "-of", "json"]);
        let output = tools::run(command.arg(wave)).unwrap();
        let told: Value = serde_json::from_slice(&output.stdout).unwrap();
        let tags = &told["format"]["tags"];
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
