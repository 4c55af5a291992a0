//! The report of `jumpseat check`.

use std::fs;

use jumpseat_core::journal::{AudioDirection, JournalEvent, RecorderFault};
use jumpseat_trip::{HealthReport, HealthVerdict, Timeline, health};

use crate::folder::{TestTripFolder, write_wav};

fn report(folder: &TestTripFolder) -> HealthReport {
    {
        let trip = folder.open().unwrap();
        health(&trip, &Timeline::of(&trip))
    }
}

#[track_caller]
fn doubtful(folder: &TestTripFolder, expected: &str) -> HealthReport {
    let report = report(folder);
    assert_eq!(report.verdict, HealthVerdict::Doubtful);
    let text = report.to_string();
    assert!(text.contains(expected), "{text}");
    report
}

/// A whole trip with audio at a fair level.
fn fair() -> TestTripFolder {
    let folder = TestTripFolder::whole();
    let wave = |count: usize, peak: f64| -> Vec<i16> {
        (0..count)
            .map(|n| (peak * (n as f64 / 5.0).sin()) as i16)
            .collect()
    };
    write_wav(&folder.audio(1, AudioDirection::Rx), &wave(32_000, 6_000.0));
    write_wav(&folder.audio(2, AudioDirection::Tx), &wave(16_000, 9_000.0));
    write_wav(&folder.audio(3, AudioDirection::Rx), &wave(16_000, 6_000.0));
    folder
}

#[test]
fn a_whole_trip_is_good_and_says_what_it_has() {
    let report = report(&fair());
    assert_eq!(report.verdict, HealthVerdict::Good, "{report}");
    assert_eq!((report.rx_s, report.tx_s, report.lost_s), (3.0, 1.0, 0.0));
    assert_eq!((report.rx_overs, report.tx_overs, report.marks), (2, 1, 1));
    assert_eq!(
        report.time.start.as_deref(),
        Some("2026-05-14T15:02:00.000Z")
    );
    assert_eq!(report.dial.overs_known, 3);
    let text = report.to_string();
    assert!(text.starts_with("trip-000017-3fa2c1: good\n"), "{text}");
    assert!(text.contains("4.0 s of 4.0 s"), "{text}");
}

#[test]
fn what_is_lost_is_counted() {
    let folder = fair();
    fs::remove_file(folder.audio(2, AudioDirection::Tx)).unwrap();
    let report = doubtful(&folder, "1.0 s of audio are lost");
    assert_eq!((report.tx_s, report.lost_s), (0.0, 1.0));
    assert_eq!(report.damage.len(), 1);
}

#[test]
fn levels_that_are_wrong_are_told_with_what_to_do() {
    let folder = fair();
    write_wav(&folder.audio(2, AudioDirection::Tx), &[i16::MAX; 16_000]);
    doubtful(
        &folder,
        "transmit audio clips in 100.00 % of its samples: turn its level down",
    );
    write_wav(&folder.audio(2, AudioDirection::Tx), &[0; 16_000]);
    doubtful(&folder, "transmit audio is silent: check its cable");
    write_wav(&folder.audio(2, AudioDirection::Tx), &[30; 16_000]);
    doubtful(
        &folder,
        "transmit audio is too low (61 dB below full scale)",
    );
}

#[test]
fn a_drive_without_time_place_or_dial_is_usable_and_says_so() {
    let mut folder = fair();
    folder.without(|event| {
        matches!(
            event,
            JournalEvent::TimeFix { .. }
                | JournalEvent::PositionFix { .. }
                | JournalEvent::Dial { .. }
        )
    });
    let report = doubtful(&folder, "unknown, relative only");
    assert_eq!(report.time.start, None);
    let text = report.to_string();
    assert!(
        text.contains("the place is not sure in 3 of 3 overs"),
        "{text}"
    );
    assert!(
        text.contains("the dial is not sure in 3 of 3 overs"),
        "{text}"
    );
}

#[test]
fn a_power_cut_is_told() {
    let mut folder = fair();
    folder.without(|event| matches!(event, JournalEvent::Shutdown { .. }));
    doubtful(&folder, "did not end in order");
}

#[test]
fn trouble_that_lasted_is_a_doubt_and_trouble_that_passed_is_told() {
    let mut folder = fair();
    for recovered in [false, true] {
        let detail = "the sound device is gone".try_into().unwrap();
        let fault = RecorderFault::Sound;
        let event = match recovered {
            false => JournalEvent::Fault { fault, detail },
            true => JournalEvent::Recovery { fault, detail },
        };
        let end = folder.records.pop().unwrap();
        folder.event(3.5, event);
        folder.event(4.0, end.event);
        let text = report(&folder).to_string();
        assert!(text.contains("the sound device is gone (1 times"), "{text}");
        let lasting = text.contains("trouble to the end");
        assert_eq!(lasting, !recovered, "{text}");
    }
}

#[test]
fn a_trip_without_readable_audio_is_broken() {
    let folder = fair();
    fs::remove_dir_all(folder.path.join("audio")).unwrap();
    let report = report(&folder);
    assert_eq!(report.verdict, HealthVerdict::Broken);
    assert_eq!(report.lost_s, 4.0);
    assert!(report.to_string().starts_with("trip-000017-3fa2c1: broken"));
}

#[test]
fn a_report_is_json_as_well() {
    let json = serde_json::to_value(report(&fair())).unwrap();
    assert_eq!(json["verdict"], "good");
    assert_eq!(json["time"]["quality"]["sources"][0], "system");
}
