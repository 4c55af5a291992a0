//! Plays a drive into the real recorder, and does at home what a person does.

use std::time::Duration;

use jumpseat_simulator::scenario;
use jumpseat_simulator::score;
use jumpseat_test_kit::TestHome;
use jumpseat_tests::live::LiveDrive;
use jumpseat_tests::stage::{GpsConnection, SoundConnection};
use rustix::process::Signal;

use crate::{adif, home, sound};

/// Plays a drive of two contacts, then does what a person does at home.
fn check(name: &str, seed: u64, sound_way: SoundConnection, gps: GpsConnection, rate: u32) {
    let folder = tempfile::tempdir().unwrap();
    let scenario = scenario::live(seed);
    let mut live = LiveDrive::prepare(scenario, sound_way, gps, folder.path()).unwrap();
    assert!(live.truth.length_s > 90.0);
    // A pipe has one reader; a server has as many as ask.
    let mut peer = (sound_way == SoundConnection::Pulse).then(|| live.start_arecord(rate).unwrap());
    let before = live.usage().unwrap();
    live.play(live.truth.length_s).unwrap();
    let after = live.usage().unwrap();
    if let Some(peer) = &mut peer {
        let theirs = peer.usage().unwrap();
        peer.signal(Signal::INT).unwrap();
        peer.end(Duration::from_secs(10)).unwrap();
        println!(
            "figure: {name}: {:.0} s of drive: recorder {:.2} s of processor time, peak {:.1} MiB; \
             arecord {:.2} s, peak {:.1} MiB",
            live.truth.length_s,
            after.cpu_s - before.cpu_s,
            after.peak_mib,
            theirs.cpu_s,
            theirs.peak_mib
        );
    } else {
        println!(
            "figure: {name}: {:.0} s of drive: recorder {:.2} s of processor time, peak {:.1} MiB",
            live.truth.length_s,
            after.cpu_s - before.cpu_s,
            after.peak_mib
        );
    }
    let card = live.stage.board.card().to_owned();
    assert_eq!(live.stop().unwrap(), Some(0));
    let apart = sound::check(name, &live.stage.board.trip().unwrap(), &live.truth);
    if peer.is_some() {
        sound::check_peer(name, &live.folder.join("arecord.wav"), rate, apart);
    }

    let at_home = TestHome::empty().unwrap();
    let (draft, file) = home::draft(&at_home, &card);
    let score = score::score(&live.truth, &draft).unwrap();
    println!("{name}:\n{score}");
    home::check(name, &score);
    let exported = home::confirm_and_export(&at_home, &live.truth, &file);
    adif::check(name, &exported, &live.truth);
}

#[test]
fn through_an_audio_server_a_serial_receiver_and_rig_control() {
    check(
        "server and serial port",
        4,
        SoundConnection::Pulse,
        GpsConnection::Serial,
        48_000,
    );
}

#[test]
fn through_a_sound_pipe_the_satellite_daemon_and_rig_control() {
    check(
        "pipe and gpsd",
        5,
        SoundConnection::Fifo,
        GpsConnection::Gpsd,
        16_000,
    );
}
