//! The recorder beside `arecord` (Debian package alsa-utils), each on an ALSA
//! device that plays the same, with the same period, both at the same time.

use std::path::Path;
use std::process::Command;
use std::thread::sleep;
use std::time::{Duration, Instant};

use jumpseat_test_kit::TestProcess;
use jumpseat_tests::board::{RunningRecorder, TestBoard};
use jumpseat_tests::parts::SoundFifo;
use rustix::process::Signal;

/// What is measured, after the programs have started: so many times this long.
const MEASURED_SLICES: usize = 7;
const SLICE_LENGTH: Duration = Duration::from_secs(6);
/// Of arecord's processor time, and what a machine busy with other work may make of it.
const ALLOWED_CPU_RATIO: f64 = 1.5;
const MOST_CPU_RATIO: f64 = 2.0;
const SETTLING_TIME: Duration = Duration::from_secs(4);

fn sound(folder: &Path) -> SoundFifo {
    let mut fifo = SoundFifo::make(folder).unwrap();
    let frames = (0..16_000 * 60).map(|n: i32| [(n % 4_001) as i16, (n % 2_003) as i16]);
    fifo.feed(Instant::now(), frames.collect()).unwrap();
    fifo
}

fn recorder(folder: &Path, fifo: &SoundFifo) -> RunningRecorder {
    let board = TestBoard::at(folder, &folder.join("card")).unwrap();
    board.with_sound(fifo).record().unwrap()
}

fn arecord(folder: &Path, fifo: &SoundFifo) -> TestProcess {
    let mut command = Command::new("arecord");
    let period = format!("--period-size={}", fifo.period());
    command.args([
        "-q",
        "-D",
        fifo.device(),
        "-f",
        "S16_LE",
        "-c",
        "2",
        "-r",
        "16000",
        &period,
    ]);
    command.arg(folder.join("peer.wav"));
    fifo.inside(&mut command);
    TestProcess::start(&command, &folder.join("arecord.log")).unwrap()
}

#[test]
fn processor_time_beside_arecord_and_memory_under_16_mib() {
    let folder = tempfile::tempdir().unwrap();
    let (ours_at, peer_at) = (folder.path().join("ours"), folder.path().join("peer"));
    let (our_sound, peer_sound) = (sound(&ours_at), sound(&peer_at));
    let mut ours = recorder(&ours_at, &our_sound);
    let peer = arecord(&peer_at, &peer_sound);
    sleep(SETTLING_TIME);
    let (mut own, mut peers, mut ratios) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..MEASURED_SLICES {
        let before = [ours.usage().unwrap(), peer.usage().unwrap()];
        sleep(SLICE_LENGTH);
        let after = [ours.usage().unwrap(), peer.usage().unwrap()];
        let per_hour = 3_600.0 / SLICE_LENGTH.as_secs_f64();
        let [ours, arecords] = [0, 1].map(|n| (after[n].cpu_s - before[n].cpu_s) * per_hour);
        own.push(ours);
        peers.push(arecords);
        ratios.push(ours / arecords);
    }
    let memory = [ours.usage(), peer.usage()].map(|usage| usage.unwrap().peak_mib);
    peer.signal(Signal::TERM).unwrap();
    ours.terminate().unwrap();
    println!("figure: budgets: program            CPU s per hour   most memory MiB");
    for (name, used, memory) in [
        ("jumpseat-recorder", &mut own, memory[0]),
        ("arecord", &mut peers, memory[1]),
    ] {
        let cpu = median(used);
        println!("figure: budgets: {name:<17}  {cpu:14.1}   {memory:15.1}");
    }
    let ratio = median(&mut ratios);
    println!(
        "figure: budgets: {ratio:.2} times arecord's processor time (median of {MEASURED_SLICES}, {ALLOWED_CPU_RATIO} allowed), memory under 16 MiB"
    );
    assert!(memory[0] < 16.0, "{memory:?} MiB");
    assert!(ratio <= MOST_CPU_RATIO, "{ratios:?}");
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}
