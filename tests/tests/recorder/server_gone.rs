//! The sound server ends in mid-drive and comes back, like a sound device that is unplugged
//! and plugged in again.

use std::thread::sleep;
use std::time::{Duration, Instant};

use jumpseat_core::journal::{JournalEvent, RecorderFault};
use jumpseat_test_kit::wait_until;
use jumpseat_tests::board::TestBoard;
use jumpseat_tests::journal_story::has;
use jumpseat_tests::parts::PulseServer;
use jumpseat_trip::Timeline;

/// Sound takes longer from the server than from a card.
const SLACK_S: f64 = 1.5;

#[test]
fn sound_that_went_away_is_opened_again_and_the_gap_is_in_the_journal_to_the_sample() {
    let board = TestBoard::new().unwrap();
    let stage = board.path("stage");
    let server = PulseServer::start(&stage, 16_000).unwrap();
    let board = board.with(&format!(
        "sound = {{ device = \"{}\", rate = 16000, channels = 2, rx = 0, tx = 1 }}",
        server.device()
    ));
    let started = board.record_with(|command| server.inside(command));
    let mut recorder = started.unwrap();
    let until = |what: &str, wanted: fn(&JournalEvent) -> bool| {
        let recorded = || has(&board.trip().unwrap(), wanted);
        assert!(wait_until(Duration::from_secs(40), recorded), "no {what}");
    };
    until("sound", |event| matches!(event, JournalEvent::Clock { .. }));
    sleep(Duration::from_secs(3));
    let away = Instant::now();
    drop(server);
    until("fault", |event| {
        matches!(
            event,
            JournalEvent::Fault {
                fault: RecorderFault::Sound | RecorderFault::NoSamples,
                ..
            }
        )
    });
    let _server = PulseServer::start(&stage, 16_000).unwrap();
    until("gap", |event| matches!(event, JournalEvent::Gap { .. }));
    let away_s = away.elapsed().as_secs_f64();
    sleep(Duration::from_secs(4));
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));

    let trip = board.trip().unwrap();
    assert!(trip.damage().is_empty(), "{:?}", trip.damage());
    let gaps: Vec<(u64, u64)> = trip
        .records()
        .iter()
        .filter_map(|record| match record.event {
            JournalEvent::Gap {
                first_sample,
                count,
                ..
            } => Some((first_sample, count)),
            _ => None,
        })
        .collect();
    // Files and gaps join without a missing or doubled sample.
    let mut pieces: Vec<(u64, u64)> = trip
        .segments()
        .iter()
        .map(|segment| (segment.first_sample, segment.end() - segment.first_sample))
        .chain(gaps.iter().copied())
        .collect();
    pieces.sort_unstable();
    let mut next = 0;
    for (first, count) in &pieces {
        assert_eq!(*first, next, "{pieces:?}");
        next = first + count;
    }
    let gap_s = gaps.iter().map(|&(_, count)| count).sum::<u64>() as f64 / 16_000.0;
    assert!(gap_s > 0.2 && gap_s < away_s + SLACK_S, "{gap_s} {away_s}");
    let quality = Timeline::of(&trip).sample_rate();
    println!(
        "figure: recorder: sound server gone for {away_s:.1} s: opened again, a gap of {gap_s:.4} s in {} record, files and gaps join to the sample ({quality:.0} samples a second)",
        gaps.len()
    );
}
