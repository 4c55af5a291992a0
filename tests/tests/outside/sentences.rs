//! The recorder's reading of a receiver against the library pynmea2, on one log.

use jumpseat_core::journal::JournalEvent;
use jumpseat_recorder::gps::SentenceReader;
use jumpseat_simulator::gps;
use jumpseat_simulator::plan::DrivePlan;
use jumpseat_simulator::scenario;
use jumpseat_test_kit::json_lines;
use serde::Deserialize;

use crate::reference::reference;

#[derive(Debug, Deserialize)]
#[serde(tag = "kind")]
enum ReferenceSentence {
    #[serde(rename = "RMC")]
    Rmc {
        utc: Option<String>,
        valid: bool,
        lat: Option<f64>,
        lon: Option<f64>,
        speed_mps: Option<f64>,
    },
    #[serde(rename = "GGA")]
    Gga { quality: u8, alt_m: Option<f64> },
}

#[test]
fn a_whole_drive_reads_as_the_reference_library_reads_it() {
    let plan = DrivePlan::lay_out(scenario::demo(1), &mut |_| ()).unwrap();
    let log: Vec<String> = gps::sentences(&plan)
        .into_iter()
        .map(|(_, sentence)| sentence)
        .collect();
    let told = reference("sentences.py", &(log.join("\n") + "\n"));
    let told: Vec<ReferenceSentence> = json_lines(&told).unwrap();
    let mut reader = SentenceReader::new();
    let (mut times, mut places, mut nothing) = (0, 0, 0);
    let read: Vec<(&String, Vec<JournalEvent>)> = log
        .iter()
        .map(|sentence| (sentence, reader.read(sentence).unwrap()))
        .filter(|(sentence, _)| sentence.contains("RMC") || sentence.contains("GGA"))
        .collect();
    assert_eq!(read.len(), told.len());
    for ((sentence, events), told) in read.iter().zip(&told) {
        match told {
            ReferenceSentence::Rmc {
                utc,
                valid,
                lat,
                lon,
                speed_mps,
            } => {
                let time = events.iter().find_map(|event| match event {
                    JournalEvent::TimeFix { utc, valid, .. } => Some((utc.to_string(), *valid)),
                    _ => None,
                });
                assert_eq!(time, utc.clone().map(|utc| (utc, *valid)), "{sentence}");
                let place = events.iter().find_map(|event| match event {
                    JournalEvent::PositionFix {
                        lat,
                        lon,
                        speed_mps,
                        valid,
                        ..
                    } => Some((*lat, *lon, *speed_mps, *valid)),
                    _ => None,
                });
                match (place, lat.zip(*lon)) {
                    (Some((our_lat, our_lon, speed, our_valid)), Some((lat, lon))) => {
                        assert!(
                            (our_lat - lat).abs() < 1e-9 && (our_lon - lon).abs() < 1e-9,
                            "{sentence}"
                        );
                        assert!(
                            (f64::from(speed.unwrap()) - speed_mps.unwrap()).abs() < 1e-3,
                            "{sentence}"
                        );
                        assert_eq!(our_valid, *valid, "{sentence}");
                        places += 1;
                    }
                    (None, None) => nothing += 1,
                    (ours, theirs) => panic!("{sentence}: {ours:?}, the library says {theirs:?}"),
                }
                times += usize::from(utc.is_some());
            }
            // The recorder takes height from GGA, and only with the RMC of the
            // same second; there is nothing to compare in a GGA without a fix.
            ReferenceSentence::Gga { quality, alt_m } => {
                assert_eq!(*quality > 0, alt_m.is_some(), "{sentence}")
            }
        }
    }
    assert!(
        times > 200 && places > 150 && nothing > 100,
        "{times} {places} {nothing}"
    );
    println!(
        "figure: sentences: {times} times, {places} places and {nothing} RMC without place, all as pynmea2 1.19.0 reads them"
    );
}
