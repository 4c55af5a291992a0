//! The sound server ends in mid-drive and comes back, as a sound device does that is
//! unplugged and plugged in.

use std::fs;
use std::process::Command;
use std::thread::sleep;
use std::time::{Duration, Instant};

use jumpseat_core::journal::{Event, Fault};
use jumpseat_tests::parts::{Process, Pulse};
use jumpseat_tests::tools;
use jumpseat_trip::{Timeline, Trip};
use rustix::process::Signal;

/// Sound from the server is under way for longer than from a card.
const SLACK_S: f64 = 1.5;

#[test]
fn sound_that_went_away_is_opened_again_and_the_gap_is_in_the_journal_to_the_sample() {
    let folder = tempfile::tempdir().unwrap();
    let (stage, card) = (folder.path().join("stage"), folder.path().join("card"));
    fs::create_dir(&card).unwrap();
    let server = Pulse::start(&stage, 16_000).unwrap();
    let config = folder.path().join("recorder.toml");
    let text = format!(
        "card = {{ dir = \"{}\", board = \"3fa2c1\" }}\n\
         sound = {{ device = \"{}\", rate = 16000, channels = 2, rx = 0, tx = 1 }}\n",
        card.display(),
        server.device()
    );
    fs::write(&config, text).unwrap();
    let mut command = Command::new(tools::built("jumpseat-recorder").unwrap());
    command.args(["run", "--config"]).arg(&config);
    server.inside(&mut command);
    let mut recorder = Process::start(&command, &folder.path().join("recorder.log")).unwrap();
    let trip = card.join("trip-000001-3fa2c1");
    let until = |what: &str, done: &dyn Fn(&[Event]) -> bool| {
        let began = Instant::now();
        loop {
            let events: Vec<Event> = Trip::open(&trip)
                .map(|trip| trip.records().iter().map(|r| r.event.clone()).collect())
                .unwrap_or_default();
            if done(&events) {
                return;
            }
            assert!(began.elapsed() < Duration::from_secs(40), "no {what}");
            sleep(Duration::from_millis(100));
        }
    };
    until("sound", &|events| {
        events
            .iter()
            .any(|event| matches!(event, Event::Clock { .. }))
    });
    sleep(Duration::from_secs(3));
    let away = Instant::now();
    drop(server);
    until("fault", &|events| {
        let lost = |event: &Event| {
            matches!(
                event,
                Event::Fault {
                    fault: Fault::Sound | Fault::NoSamples,
                    ..
                }
            )
        };
        events.iter().any(lost)
    });
    let _server = Pulse::start(&stage, 16_000).unwrap();
    until("gap", &|events| {
        events
            .iter()
            .any(|event| matches!(event, Event::Gap { .. }))
    });
    let away_s = away.elapsed().as_secs_f64();
    sleep(Duration::from_secs(4));
    recorder.signal(Signal::TERM).unwrap();
    let status = recorder.end(Duration::from_secs(10)).unwrap();
    assert_eq!(status.code(), Some(0));

    let trip = Trip::open(&trip).unwrap();
    assert!(trip.damage().is_empty(), "{:?}", trip.damage());
    let gaps: Vec<(u64, u64)> = trip
        .records()
        .iter()
        .filter_map(|record| match record.event {
            Event::Gap {
                first_sample,
                count,
                ..
            } => Some((first_sample, count)),
            _ => None,
        })
        .collect();
    // Files and gaps follow each other without a sample between or on top.
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
