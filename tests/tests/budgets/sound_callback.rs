//! The sound device's callback allocates nothing, on a real ALSA device.

use std::env;
use std::process::Command;
use std::thread::sleep;
use std::time::{Duration, Instant};

use jumpseat_recorder::config::SoundConfig;
use jumpseat_recorder::sound::{self, sound_queue};
use jumpseat_test_kit as kit;
use jumpseat_tests::parts::SoundFifo;

use crate::allocator;

const NAME: &str = "sound_callback::the_audio_callback_allocates_nothing";
/// Holds the frames that the device must be asked for.
const CHILD: &str = "JUMPSEAT_TEST_PERIOD";

/// Allocations by the threads of the sound library, the callback in them, during
/// two seconds; and the frames that came.
fn listen(period_frames: u32) -> (u64, usize) {
    allocator::leave_out_this_thread();
    let config = SoundConfig {
        device: "fifoin".to_owned(),
        rate: Some(16_000),
        channels: Some(2),
        period_frames: Some(period_frames),
        tx: 1,
        ..SoundConfig::default()
    };
    let (mut kit, mut blocks) = sound_queue();
    let mut device = sound::configured_device(&config).unwrap();
    let _open = device.open(&mut kit, Box::new(|_| {})).unwrap();
    sleep(Duration::from_secs(1));
    blocks.clear();
    let before = allocator::allocation_count();
    sleep(Duration::from_secs(2));
    let allocated = allocator::allocation_count() - before;
    let frames = std::iter::from_fn(|| blocks.pop(u64::MAX))
        .map(|block| block.frames().len())
        .sum();
    (allocated, frames)
}

#[test]
fn the_audio_callback_allocates_nothing() {
    if let Ok(period) = env::var(CHILD) {
        let (allocated, frames) = listen(period.parse().unwrap());
        assert!(frames > 20_000, "only {frames} frames came");
        assert_eq!(allocated, 0, "allocations while {frames} frames came");
        println!(
            "figure: budgets: allocations by the audio callback while {frames} frames came: {allocated}"
        );
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let mut fifo = SoundFifo::make(folder.path()).unwrap();
    fifo.feed(Instant::now(), Vec::new()).unwrap();
    // Alone in a process of its own, in which nothing else allocates.
    let mut command = Command::new(env::current_exe().unwrap());
    command.args([NAME, "--exact", "--nocapture"]);
    command.env(CHILD, fifo.period().to_string());
    fifo.inside(&mut command);
    let output = kit::run(&mut command).unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(
        output.status.success(),
        "{said}{}",
        String::from_utf8_lossy(&output.stderr)
    );
    // Its own count of tests is none of ours.
    let figures: Vec<&str> = said
        .lines()
        .filter(|line| line.contains("figure: "))
        .collect();
    assert_eq!(figures.len(), 1, "{NAME} was not run: {said}");
    println!("{}", figures[0]);
}
