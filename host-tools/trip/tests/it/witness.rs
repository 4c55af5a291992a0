//! A trip.json that says something else than the rest of the trip.

use std::fs;

use chrono::{DateTime, Utc};
use jumpseat_core::journal::{AudioDirection, JournalEvent};
use jumpseat_trip::{Over, Timeline, Track, Trip, TripError, health};

use crate::folder::{HEADER, TestTripFolder, damage_of};

/// What a damaged header must not cost.
#[derive(Debug, PartialEq)]
struct WitnessDrive {
    times: Vec<Option<DateTime<Utc>>>,
    places: Vec<Option<(f64, f64)>>,
    marks: Vec<u64>,
    overs: Vec<Over>,
    lengths_s: [f64; 4],
}

impl WitnessDrive {
    fn of(trip: &Trip) -> Self {
        let timeline = Timeline::of(trip);
        let track = Track::of(trip);
        let samples = [0, 32_000, 48_000, 63_999];
        let report = health(trip, &timeline);
        Self {
            times: samples.map(|at| timeline.at_sample(at).value).to_vec(),
            places: samples
                .map(|at| {
                    let place = track.at_mono(timeline.mono_of_sample(at)).value;
                    place.map(|place| (place.lat(), place.lon()))
                })
                .to_vec(),
            marks: trip.marks(),
            overs: trip.overs(),
            lengths_s: [report.length_s, report.rx_s, report.tx_s, report.lost_s],
        }
    }
}

/// Flips every bit of trip.json, one at a time; gives how many were tried, how many cost
/// anything of the drive, and how many nobody told of.
fn flips(folder: &TestTripFolder) -> (usize, usize, usize) {
    let whole = folder.open().unwrap();
    let drive = WitnessDrive::of(&whole);
    assert!(drive.times[0].is_some() && drive.places[0].is_some() && drive.marks.len() == 1);
    let path = folder.path.join("trip.json");
    let (mut cost, mut untold) = (0, 0);
    let bits = HEADER.len() * 8;
    for bit in 0..bits {
        let mut text = HEADER.as_bytes().to_vec();
        text[bit / 8] ^= 1 << (bit % 8);
        fs::write(&path, &text).unwrap();
        let trip = Trip::open(&folder.path);
        cost += usize::from(
            !trip
                .as_ref()
                .is_ok_and(|trip| WitnessDrive::of(trip) == drive),
        );
        untold += usize::from(trip.is_ok_and(|trip| trip.damage().is_empty()));
    }
    fs::write(&path, HEADER).unwrap();
    (bits, cost, untold)
}

#[test]
fn no_flipped_bit_of_a_header_that_the_journal_repeats_costs_anything() {
    let (bits, cost, untold) = flips(&TestTripFolder::repeated());
    println!(
        "figure: {cost} of {bits} flips of a repeated trip.json cost anything, {untold} untold"
    );
    assert_eq!((cost, untold), (0, 0));
}

#[test]
fn no_flipped_bit_of_an_old_header_costs_time_place_marks_or_sound() {
    let (bits, cost, untold) = flips(&TestTripFolder::whole());
    println!("figure: {cost} of {bits} flips of an old trip.json cost anything, {untold} untold");
    assert_eq!(cost, 0);
}

/// Writes this as trip.json of a trip whose journal repeats it; the header is the right
/// one all the same, and the damage is reported.
#[track_caller]
fn outvoted(text: Option<&str>, expected: &str) {
    let folder = TestTripFolder::repeated();
    let right = folder.open().unwrap();
    let path = folder.path.join("trip.json");
    match text {
        Some(text) => fs::write(path, text).unwrap(),
        None => fs::remove_file(path).unwrap(),
    }
    let trip = Trip::open(&folder.path).unwrap();
    assert_eq!((trip.header(), trip.id()), (right.header(), right.id()));
    assert_eq!(Trip::id_in(&folder.path).as_deref(), Some(right.id()));
    assert_eq!(damage_of(&trip), [format!("trip.json: {expected}")]);
}

#[test]
fn the_journal_outvotes_trip_json_and_says_so() {
    let again = "the journal repeats what stood in it";
    outvoted(None, &format!("the trip's header is missing; {again}"));
    outvoted(
        Some(""),
        &format!(
            "the trip's header cannot be read (EOF while parsing a value at line 1 column 0); {again}"
        ),
    );
    let believed = |from: &str, to: &str, what: &str, said: &str, known: &str| {
        let text = HEADER.replacen(from, to, 1);
        let told = format!(
            "{what} is {said:?} here and {known:?} in the rest of the trip, which was believed"
        );
        outvoted(Some(&text), &told);
    };
    believed("\"format\":1", "\"format\":3", "the format", "3", "1");
    believed("17", "16", "the trip's number", "16", "17");
    believed("3fa2c1", "3fa2c0", "the board", "3fa2c0", "3fa2c1");
    believed(
        "9f2c41d0",
        "9f2c41d1",
        "the power-up",
        "9f2c41d1",
        "9f2c41d0",
    );
    believed(
        "W7QTM",
        "W7QTL",
        "the station's call sign",
        "W7QTL",
        "W7QTM",
    );
    believed(
        "null",
        "\"KB0QSE\"",
        "the operator's call sign",
        "KB0QSE",
        "none",
    );
    believed(
        "16000",
        "18000",
        "the audio",
        "18000 Hz, 16 bits, 1 channels",
        "16000 Hz, 16 bits, 1 channels",
    );
    believed(
        "recorder 0.1.0",
        "recorder 0.1.1",
        "the software",
        "jumpseat-recorder 0.1.1",
        "jumpseat-recorder 0.1.0",
    );
}

#[test]
fn a_newer_format_in_the_journal_is_called_newer() {
    let mut folder = TestTripFolder::repeated();
    if let JournalEvent::Trip { format, .. } = &mut folder.records[1].event {
        *format = 2;
    }
    let error = folder.open().unwrap_err();
    assert!(
        matches!(error, TripError::NewerFormat { found: 2, .. }),
        "{error}"
    );
}

/// A trip of such audio; the sample rate that is found when trip.json says this one.
#[track_caller]
fn rate(files: u32, said: u32, expected: u32) {
    let folder = TestTripFolder::whole();
    folder.open().unwrap();
    let text = HEADER.replace("16000", &said.to_string());
    fs::write(folder.path.join("trip.json"), text).unwrap();
    for number in files + 1..=3 {
        let direction = if number == 2 {
            AudioDirection::Tx
        } else {
            AudioDirection::Rx
        };
        fs::remove_file(folder.audio(number, direction)).unwrap();
    }
    let trip = Trip::open(&folder.path).unwrap();
    assert_eq!(trip.header().audio.sample_rate, expected);
}

#[test]
fn sound_files_outvote_an_old_header() {
    rate(3, 16_000, 16_000);
    rate(3, 16_001, 16_000);
    rate(1, 18_000, 16_000);
    // Nobody else knows.
    rate(0, 18_000, 18_000);
}

#[test]
fn a_damaged_header_of_a_sound_file_does_not_outvote_trip_json_nor_cost_its_sound() {
    for (at, bit) in [(24, 0), (34, 3), (22, 1), (0, 2), (20, 0), (36, 4), (16, 6)] {
        let folder = TestTripFolder::repeated();
        for file in [
            folder.audio(1, AudioDirection::Rx),
            folder.audio(2, AudioDirection::Tx),
            folder.audio(3, AudioDirection::Rx),
        ] {
            let mut bytes = fs::read(&file).unwrap();
            bytes[at] ^= 1 << bit;
            fs::write(&file, bytes).unwrap();
        }
        let trip = folder.open().unwrap();
        assert_eq!(trip.header().audio.sample_rate, 16_000);
        let sound = trip.read_segment(2).unwrap();
        assert!(sound == crate::folder::ramp(32_000, 16_000), "byte {at}");
        let told = damage_of(&trip);
        assert!(told[0].contains("its length is right"), "{told:?}");
    }
}

#[test]
fn most_records_say_which_power_up_it_is() {
    let mut folder = TestTripFolder::whole();
    folder.records[4].boot = "00000000".try_into().unwrap();
    let header = HEADER.replace("9f2c41d0", "00000000");
    fs::write(folder.path.join("trip.json"), header).unwrap();
    let trip = folder.open().unwrap();
    assert_eq!(trip.header().boot, "9f2c41d0");
    assert_eq!(trip.records().len(), folder.records.len() - 1);
    let told = damage_of(&trip);
    assert!(
        told[0].starts_with("trip.json: the power-up is"),
        "{told:?}"
    );
    assert!(told[1].contains("another power-up (00000000)"), "{told:?}");
}
