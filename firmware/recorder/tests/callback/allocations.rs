//! The sound device's callback allocates nothing, on a real ALSA device (its
//! `file` plugin on a named pipe; Debian package libasound2).

use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;
use std::env;
use std::fs::{self, OpenOptions};
use std::io::Write;
use std::path::Path;
use std::process::Command;
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread::{self, sleep};
use std::time::Duration;

use jumpseat_recorder::config::SoundConfig;
use jumpseat_recorder::sound::{self, queue};
use rustix::fs::{CWD, FileType, Mode, mknodat};

struct Counting;

#[global_allocator]
static ALLOCATOR: Counting = Counting;

static BY_OTHERS: AtomicU64 = AtomicU64::new(0);

thread_local! {
    static OWN: Cell<bool> = const { Cell::new(false) };
}

// SAFETY: everything is passed on to the system's allocator; counting does not allocate.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        if !OWN.try_with(Cell::get).unwrap_or(true) {
            BY_OTHERS.fetch_add(1, Ordering::Relaxed);
        }
        // SAFETY: the caller keeps the promises of this trait.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, memory: *mut u8, layout: Layout) {
        // SAFETY: as above.
        unsafe { System.dealloc(memory, layout) }
    }
}

const NAME: &str = "allocations::the_audio_callback_allocates_nothing";
const CHILD: &str = "JUMPSEAT_TEST_SOUND";
const PERIOD: usize = 320;

/// Feeds the pipe in real time, for ever.
fn feed(pipe: &Path) {
    let mut out = OpenOptions::new()
        .read(true)
        .write(true)
        .open(pipe)
        .unwrap();
    thread::spawn(move || {
        OWN.set(true);
        loop {
            out.write_all(&[7; PERIOD * 4]).unwrap();
            sleep(Duration::from_millis(20));
        }
    });
}

/// Allocations by the threads of the sound library, the callback in them, during
/// two seconds; and the frames that came.
fn listen() -> (u64, usize) {
    OWN.set(true);
    let config = SoundConfig {
        device: "fifoin".to_owned(),
        rate: Some(16_000),
        channels: Some(2),
        period_frames: Some(PERIOD as u32),
        tx: 1,
        ..SoundConfig::default()
    };
    let (mut kit, mut blocks) = queue();
    let mut device = sound::device(&config).unwrap();
    let _open = device.open(&mut kit, Box::new(|_| {})).unwrap();
    sleep(Duration::from_secs(1));
    while blocks.dequeue().is_some() {}
    let before = BY_OTHERS.load(Ordering::Relaxed);
    sleep(Duration::from_secs(2));
    let allocated = BY_OTHERS.load(Ordering::Relaxed) - before;
    let frames = std::iter::from_fn(|| blocks.dequeue())
        .map(|block| block.frames().len())
        .sum();
    (allocated, frames)
}

#[test]
fn the_audio_callback_allocates_nothing() {
    if let Some(pipe) = env::var_os(CHILD) {
        feed(Path::new(&pipe));
        let (allocated, frames) = listen();
        assert!(frames > 20_000, "only {frames} frames came");
        assert_eq!(allocated, 0, "allocations while {frames} frames came");
        println!(
            "figure: budgets: allocations by the audio callback while {frames} frames came: {allocated}"
        );
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let pipe = folder.path().join("sound");
    mknodat(CWD, &pipe, FileType::Fifo, Mode::from_raw_mode(0o600), 0).unwrap();
    let asoundrc = format!(
        "pcm.fifoin {{ type file slave.pcm {{ type null }} file /dev/null \
         infile {} format raw hint {{ show on description \"fifo\" }} }}\n",
        pipe.display()
    );
    fs::write(folder.path().join(".asoundrc"), asoundrc).unwrap();
    let output = Command::new(env::current_exe().unwrap())
        .args([NAME, "--exact", "--nocapture"])
        .env(CHILD, &pipe)
        .env("HOME", folder.path())
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    print!("{said}");
    assert!(
        output.status.success(),
        "{said}{}",
        String::from_utf8_lossy(&output.stderr)
    );
}
