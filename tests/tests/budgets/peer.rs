//! The recorder beside `arecord` (Debian package alsa-utils), each on an ALSA
//! device that plays the same 40 seconds, both at the same time.

use std::fs;
use std::path::Path;
use std::process::Command;
use std::thread::sleep;
use std::time::{Duration, Instant};

use jumpseat_tests::parts::{Process, SoundFifo, Usage};
use jumpseat_tests::tools;
use rustix::process::Signal;

/// What is measured, after the programs have started.
const MEASURED: Duration = Duration::from_secs(40);
const STARTING: Duration = Duration::from_secs(4);

fn sound(folder: &Path) -> SoundFifo {
    let mut fifo = SoundFifo::make(folder).unwrap();
    let frames = (0..16_000 * 60).map(|n: i32| [(n % 4_001) as i16, (n % 2_003) as i16]);
    fifo.feed(Instant::now(), frames.collect()).unwrap();
    fifo
}

fn recorder(folder: &Path, fifo: &SoundFifo) -> Process {
    let card = folder.join("card");
    fs::create_dir(&card).unwrap();
    let config = folder.join("recorder.toml");
    let text = format!(
        "card = {{ dir = \"{}\", board = \"3fa2c1\" }}\n\
         sound = {{ device = \"{}\", rate = 16000, channels = 2, rx = 0, tx = 1, period_frames = {} }}\n",
        card.display(),
        fifo.device(),
        fifo.period()
    );
    fs::write(&config, text).unwrap();
    let mut command = Command::new(tools::built("jumpseat-recorder").unwrap());
    command.args(["run", "--config"]).arg(config);
    fifo.inside(&mut command);
    Process::start(&command, &folder.join("recorder.log")).unwrap()
}

fn arecord(folder: &Path, fifo: &SoundFifo) -> Process {
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
    Process::start(&command, &folder.join("arecord.log")).unwrap()
}

#[test]
fn processor_and_memory_beside_arecord() {
    let folder = tempfile::tempdir().unwrap();
    let (ours_at, peer_at) = (folder.path().join("ours"), folder.path().join("peer"));
    let (our_sound, peer_sound) = (sound(&ours_at), sound(&peer_at));
    let ours = recorder(&ours_at, &our_sound);
    let peer = arecord(&peer_at, &peer_sound);
    sleep(STARTING);
    let before = [ours.usage().unwrap(), peer.usage().unwrap()];
    sleep(MEASURED);
    let after = [ours.usage().unwrap(), peer.usage().unwrap()];
    for process in [&ours, &peer] {
        process.signal(Signal::TERM).unwrap();
    }
    let hour = 3_600.0 / MEASURED.as_secs_f64();
    let cpu = |n: usize| (after[n].cpu_s - before[n].cpu_s) * hour;
    let memory = |usage: &Usage| usage.peak_mib;
    let (own, peers) = (cpu(0), cpu(1));
    println!("figure: budgets: program            CPU s per hour   most memory MiB");
    println!(
        "figure: budgets: jumpseat-recorder  {own:14.1}   {:15.1}",
        memory(&after[0])
    );
    println!(
        "figure: budgets: arecord            {peers:14.1}   {:15.1}",
        memory(&after[1])
    );
    println!(
        "figure: budgets: {:.2} times arecord's processor time (1.5 allowed), memory under 16 MiB",
        own / peers
    );
    assert!(memory(&after[0]) < 16.0);
}
