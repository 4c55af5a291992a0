//! The recorder is killed in the middle of an over: what is left, and how it is reported.

use std::thread::sleep;
use std::time::Duration;

use jumpseat_core::journal::{AudioDirection, JournalEvent};
use jumpseat_simulator::scenario;
use jumpseat_test_kit::TestHome;
use jumpseat_tests::journal_story::has;
use jumpseat_tests::live::LiveDrive;
use jumpseat_tests::stage::{GpsConnection, SoundConnection};
use jumpseat_trip::SegmentState;

use crate::samples::compare;
use crate::sound_boards::{board_with_sound, noise, pieces};

#[test]
fn a_kill_in_an_over_costs_at_most_two_seconds_and_no_edge() {
    let frames = noise(8);
    let (board, sound) = board_with_sound(frames.clone());
    let mut recorder = board.record().unwrap();
    sleep(Duration::from_millis(1_500));
    board.set_line("ptt", true).unwrap();
    sleep(Duration::from_millis(3_400));
    board.set_line("mark", true).unwrap();
    recorder.wait_for_output("mark acknowledged").unwrap();
    let fed = sound.fed();
    recorder.kill().unwrap();

    let trip = board.trip().unwrap();
    let pieces = pieces(&trip);
    let directions: Vec<(AudioDirection, bool)> =
        pieces.iter().map(|p| (p.direction, p.closed)).collect();
    assert_eq!(
        directions,
        [(AudioDirection::Rx, true), (AudioDirection::Tx, false)]
    );
    let over = &pieces[1];
    let kept = over.first + over.samples.len() as u64;
    over.check(&frames);
    let lost = fed.saturating_sub(kept) as f64 / 16_000.0;
    println!("lost by the kill: {lost:.2} s");
    assert!(lost <= 2.0, "{lost} s lost");
    assert!(has(&trip, |event| *event == JournalEvent::Ptt { down: true }));
    assert!(has(&trip, |event| *event == JournalEvent::Mark {}));
}

#[test]
fn a_killed_recorder_leaves_all_but_the_last_two_seconds() {
    let folder = tempfile::tempdir().unwrap();
    let scenario = scenario::short(3);
    let mut performance = LiveDrive::prepare(
        scenario,
        SoundConnection::Fifo,
        GpsConnection::Serial,
        folder.path(),
    )
    .unwrap();
    let last_over = performance.truth.contacts[0].overs[2].clone();
    let killed_s = (last_over.from_s + last_over.to_s) / 2.0;
    performance.play(killed_s).unwrap();
    performance.kill().unwrap();

    let trip = performance.stage.board.trip().unwrap();
    assert!(!trip.ended_in_order());
    assert!(!trip.damage().is_empty());
    let (last_segment, others) = trip.segments().split_last().unwrap();
    assert_eq!(last_segment.state, SegmentState::Salvaged);
    assert!(
        others
            .iter()
            .all(|segment| segment.state == SegmentState::Closed)
    );
    let (_, last) = compare(&trip, &performance.script);
    let lost_s = killed_s - last as f64 / 16_000.0;
    assert!(lost_s < 2.0, "{lost_s} s lost");
    println!(
        "figure: recorder: killed at {killed_s:.1} s in mid-over, {lost_s:.2} s of sound lost (2 s allowed)"
    );

    // At home the damage is reported, and a draft is made from what is left.
    let file = last_segment.path.file_name().unwrap().to_str().unwrap();
    let home = TestHome::in_folder(folder.path());
    let trip = trip.dir().to_str().unwrap();
    let checked = home.run(&["check", trip]);
    checked
        .ended(3)
        .says(&[file, "the recorder stopped while it wrote"]);
    let drafted = home.run(&["draft", trip]);
    drafted
        .ended(3)
        .says(&["1 contact", "the recording was not ended in order"]);
    println!(
        "figure: recorder: check names {file}; draft says that the recording was not ended in order"
    );
}
