//! Any bytes at all: no panic, and never more than the damage deserves.

use std::fs;
use std::path::Path;

use jumpseat_core::journal::AudioDirection;
use jumpseat_trip::{DialHistory, TimeSettings, Timeline, Track, Trip, health, parse_journal};
use proptest::collection::vec;
use proptest::prelude::*;

use crate::folder::TestTripFolder;

/// Everything that a trip can be asked.
fn ask(trip: &Trip) {
    for over in trip.overs() {
        let _ = trip.read_span(over.direction, over.first_sample, over.count.min(100_000));
    }
    let timeline = Timeline::of(trip);
    for at in [0, 1, 1 << 40, u64::MAX] {
        let mono = timeline.mono_of_sample(at);
        let _ = (timeline.at_sample(at), timeline.at_mono(at));
        let _ = (timeline.sample_of_mono(at), Track::of(trip).at_mono(mono));
        let _ = DialHistory::of(trip).at_mono(at);
    }
    assert!(!health(trip, &Timeline::of(trip)).to_string().is_empty());
}

/// A change to a file's bytes, as a bad card or an evil hand makes it.
#[derive(Debug, Clone)]
enum HostileBlow {
    Flip(prop::sample::Index, u8),
    Cut(prop::sample::Index),
    Insert(prop::sample::Index, Vec<u8>),
    Zero(prop::sample::Index, usize),
    Swap(prop::sample::Index, prop::sample::Index),
}

fn blow() -> impl Strategy<Value = HostileBlow> {
    let place = any::<prop::sample::Index>;
    prop_oneof![
        (place(), 0..8_u8).prop_map(|(at, bit)| HostileBlow::Flip(at, bit)),
        place().prop_map(HostileBlow::Cut),
        (place(), vec(any::<u8>(), 0..40)).prop_map(|(at, bytes)| HostileBlow::Insert(at, bytes)),
        (place(), 1..600_usize).prop_map(|(at, count)| HostileBlow::Zero(at, count)),
        (place(), place()).prop_map(|(a, b)| HostileBlow::Swap(a, b)),
    ]
}

fn strike(bytes: &mut Vec<u8>, blow: &HostileBlow) {
    if bytes.is_empty() {
        return;
    }
    let length = bytes.len();
    match blow {
        HostileBlow::Flip(at, bit) => bytes[at.index(length)] ^= 1 << bit,
        HostileBlow::Cut(at) => bytes.truncate(at.index(length)),
        HostileBlow::Insert(at, more) => {
            let at = at.index(length);
            bytes.splice(at..at, more.iter().copied());
        }
        HostileBlow::Zero(at, count) => {
            let from = at.index(length);
            bytes[from..length.min(from + count)].fill(0);
        }
        HostileBlow::Swap(a, b) => bytes.swap(a.index(length), b.index(length)),
    }
}

/// Lines with a right checksum and wild values in them.
fn wild_line() -> impl Strategy<Value = String> {
    let number = || prop_oneof![any::<u64>(), 0..100_000_u64, Just(u64::MAX)];
    let event = prop_oneof![
        (any::<u32>(), number()).prop_map(|(n, first)| format!(
            r#"{{"segment_opened":{{"segment":{n},"direction":"rx","first_sample":{first}}}}}"#
        )),
        (0..5_u32, number(), number()).prop_map(|(n, first, count)| format!(
            r#"{{"segment_closed":{{"segment":{n},"direction":"tx","first_sample":{first},"count":{count}}}}}"#
        )),
        number().prop_map(|sample| format!(r#"{{"clock":{{"sample":{sample}}}}}"#)),
        (number(), number()).prop_map(|(first, count)| format!(
            r#"{{"gap":{{"first_sample":{first},"count":{count},"fault":"sound"}}}}"#
        )),
        (-300_000..300_000_i32, any::<bool>()).prop_map(|(year, valid)| format!(
            r#"{{"time_fix":{{"utc":"{year:+}-02-28T23:59:60Z","source":"nmea","valid":{valid}}}}}"#
        )),
        (any::<f64>(), any::<f64>()).prop_map(|(lat, lon)| format!(
            r#"{{"position_fix":{{"lat":{lat:e},"lon":{lon:e},"alt_m":null,"speed_mps":null,"satellites":null,"hdop":1e38,"source":"nmea","valid":true}}}}"#
        )),
        number().prop_map(|hz| format!(r#"{{"dial":{{"hz":{hz},"mode":""}}}}"#)),
        "[a-z_]{0,12}".prop_map(|kind| format!(r#"{{"{kind}":{{}}}}"#)),
    ];
    (number(), event).prop_map(|(mono_ns, event)| {
        format!(r#""boot":"9f2c41d0","mono_ns":{mono_ns},"event":{event}}}"#)
    })
}

fn frame(seq: usize, rest: &str) -> Vec<u8> {
    let text = format!(r#"{{"seq":{seq},{rest}"#);
    let sum = crc::Crc::<u32>::new(&crc::CRC_32_ISCSI).checksum(text.as_bytes());
    format!("{text} {sum:08x}\n").into_bytes()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn any_bytes_as_a_journal(bytes in vec(any::<u8>(), 0..2_000)) {
        let journal = parse_journal(Path::new("journal.jsonl"), &bytes, None);
        let lines = bytes.split_inclusive(|&byte| byte == b'\n').count();
        prop_assert!(journal.records.len() + journal.damage.len() >= lines);
    }

    #[test]
    fn a_struck_journal_never_makes_a_record_up(blows in vec(blow(), 1..4)) {
        let folder = TestTripFolder::whole();
        let mut bytes = folder.lines().concat();
        for blow in &blows {
            strike(&mut bytes, blow);
        }
        let journal = parse_journal(Path::new("journal.jsonl"), &bytes, Some("9f2c41d0"));
        for record in &journal.records {
            prop_assert!(folder.records.contains(record), "{record:?}");
        }
        if journal.records.len() < folder.records.len() && !bytes.is_empty() {
            // A cut at a line's end, before or after its newline, leaves no trace
            // but a missing end.
            let (lines, ends) = (folder.lines().concat(), bytes.ends_with(b"\n"));
            let next = lines.get(bytes.len());
            let cut = lines.starts_with(&bytes) && (ends || next == Some(&b'\n'));
            prop_assert!(cut || !journal.damage.is_empty());
        }
    }

    #[test]
    fn whole_lines_with_wild_values(lines in vec(wild_line(), 1..40)) {
        let folder = TestTripFolder::whole();
        let bytes: Vec<u8> = lines.iter().enumerate().flat_map(|(n, rest)| frame(n + 1, rest)).collect();
        let trip = folder.open_with(&bytes).unwrap();
        ask(&trip);
        let _ = Timeline::of_records(trip.records(), 0, &TimeSettings::default());
    }

    #[test]
    fn a_struck_sound_file(blows in vec(blow(), 1..4), head in any::<bool>()) {
        let folder = TestTripFolder::whole();
        let path = folder.audio(2, AudioDirection::Tx);
        let mut bytes = fs::read(&path).unwrap();
        // Most blows would land in the audio, where nothing can go wrong.
        let mut tail = if head { bytes.split_off(48) } else { Vec::new() };
        for blow in &blows {
            strike(&mut bytes, blow);
        }
        bytes.append(&mut tail);
        fs::write(&path, &bytes).unwrap();
        let trip = folder.open().unwrap();
        ask(&trip);
        prop_assert_eq!(fs::read(&path).unwrap(), bytes);
    }

    #[test]
    fn any_bytes_as_a_header(bytes in vec(any::<u8>(), 0..300)) {
        let folder = TestTripFolder::whole();
        fs::write(folder.path.join("trip.json"), bytes).unwrap();
        ask(&folder.open().unwrap());
    }
}
