//! The recorder with pins, on a GPIO chip made of files (see `preload/chip.c`).

use std::fs::{self, OpenOptions};
use std::io::Write;
use std::path::PathBuf;
use std::thread::sleep;
use std::time::{Duration, Instant};

use jumpseat_core::journal::JournalEvent;
use jumpseat_recorder::monotonic;
use jumpseat_tests::board::{RunningRecorder, TestBoard};
use jumpseat_tests::journal_story::times;
use jumpseat_tests::parts::{SoundFifo, make_fifo};

use crate::preload;
use crate::sound_boards::{noise, play};

const PTT: u32 = 17;
const MARK: u32 = 27;
const SOUNDER: u32 = 23;
const PULSE: u32 = 18;
const RISING: u32 = 1;
const FALLING: u32 = 2;

/// A board with a GPIO chip; the lines with edges have a pipe for them.
struct FileChip {
    board: TestBoard,
    library: PathBuf,
    _sound: Option<SoundFifo>,
}

impl FileChip {
    /// On a board whose sound device is missing.
    fn new(with_edges: &[u32]) -> Self {
        let chip = Self::wired(with_edges);
        let board = chip.board.with("sound = { device = \"none\" }");
        Self { board, ..chip }
    }

    /// On a board that receives noise for this many seconds.
    fn hearing(with_edges: &[u32], seconds: usize) -> Self {
        let chip = Self::wired(with_edges);
        let sound = play(chip.board.folder(), 16_000, noise(seconds));
        Self {
            board: chip.board.with_sound(&sound),
            library: chip.library,
            _sound: Some(sound),
        }
    }

    fn wired(with_edges: &[u32]) -> Self {
        let board = TestBoard::new().unwrap();
        let dir = board.path("chip");
        fs::create_dir(&dir).unwrap();
        for (line, level) in [(PTT, "1"), (MARK, "1"), (SOUNDER, "0"), (PULSE, "0")] {
            fs::write(dir.join(line.to_string()), level).unwrap();
        }
        for line in with_edges {
            let pipe = dir.join(format!("{line}.edges"));
            make_fifo(&pipe).unwrap();
        }
        let library = preload::library("chip", board.folder());
        let pin =
            |line: u32| format!("{{ chip = \"/dev/null\", line = {line}, active = \"low\" }}");
        let pulse = if with_edges.contains(&PULSE) {
            format!(", pulse = {{ chip = \"/dev/null\", line = {PULSE}, active = \"high\" }}")
        } else {
            String::new()
        };
        let lines = format!(
            "lines = {{ ptt = {}, mark = {}, sounder = {{ chip = \"/dev/null\", line = {SOUNDER} }}{pulse} }}",
            pin(PTT),
            pin(MARK)
        );
        Self {
            board: board.with(&lines),
            library,
            _sound: None,
        }
    }

    fn record(&self) -> RunningRecorder {
        let started = self.board.record_with(|command| {
            command.env("LD_PRELOAD", &self.library);
            command.env("JUMPSEAT_TEST_CHIP", self.board.path("chip"));
        });
        started.unwrap()
    }

    fn level(&self, line: u32, level: &str) {
        fs::write(self.board.path("chip").join(line.to_string()), level).unwrap();
    }

    /// Changes the level, and reports the edge late with its original time, as the kernel
    /// does.
    fn edge(&self, line: u32, kind: u32, at_ns: u64) {
        let mut bytes = Vec::new();
        bytes.extend(at_ns.to_ne_bytes());
        bytes.extend(kind.to_ne_bytes());
        bytes.extend(0_u32.to_ne_bytes());
        let pipe = self.board.path("chip").join(format!("{line}.edges"));
        OpenOptions::new()
            .write(true)
            .open(pipe)
            .unwrap()
            .write_all(&bytes)
            .unwrap();
        // Written after the edge: a read between the two would otherwise find a level
        // without its edge, which the kernel never shows.
        self.level(line, if kind == RISING { "1" } else { "0" });
    }

    fn sounds(&self) -> bool {
        fs::read(self.board.path("chip").join(SOUNDER.to_string())).unwrap() == b"1"
    }

    /// Waits for the sounder to be on or off; returns the time to the millisecond.
    fn until_sounds(&self, on: bool, limit: Duration) -> Option<Duration> {
        let began = Instant::now();
        while self.sounds() != on {
            if began.elapsed() > limit {
                return None;
            }
            sleep(Duration::from_micros(500));
        }
        Some(began.elapsed())
    }
}

#[test]
fn a_key_edge_has_the_kernels_time_and_a_line_without_edges_is_looked_at() {
    let chip = FileChip::new(&[PTT]);
    let mut recorder = chip.record();
    let ptt = "ptt is read from line 17 of /dev/null, by edges";
    recorder.wait_for_output(ptt).unwrap();
    let mark = "mark is read from line 27 of /dev/null, every 4 ms";
    recorder.wait_for_output(mark).unwrap();
    sleep(Duration::from_millis(300));
    let keyed_ns = monotonic::now_ns();
    sleep(Duration::from_millis(60));
    chip.edge(PTT, FALLING, keyed_ns);
    let marked_ns = monotonic::now_ns();
    chip.level(MARK, "0");
    recorder.wait_for_output("mark acknowledged").unwrap();
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));
    let trip = chip.board.trip().unwrap();
    let keyed = times(&trip, &JournalEvent::Ptt { down: true });
    assert_eq!(keyed.first(), Some(&keyed_ns), "{:?}", trip.records());
    let late_ns = times(&trip, &JournalEvent::Mark {})[0] - marked_ns;
    assert!(late_ns < 30_000_000, "{late_ns} ns");
}

#[test]
fn a_pulse_per_second_on_a_pin_is_written_down_with_the_kernels_time() {
    let chip = FileChip::new(&[PULSE]);
    let mut recorder = chip.record();
    sleep(Duration::from_millis(300));
    let second = Duration::from_secs(1);
    let first_ns = monotonic::now_ns();
    chip.edge(PULSE, RISING, first_ns);
    chip.edge(PULSE, FALLING, first_ns + 100_000_000);
    // The kernel saw it on time and reports it late.
    sleep(second + Duration::from_millis(70));
    chip.edge(PULSE, RISING, first_ns + 1_000_000_000);
    let pulse = "the receiver's pulse comes every second";
    recorder.wait_for_output(pulse).unwrap();
    sleep(second / 5);
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));
    let trip = chip.board.trip().unwrap();
    let pulses = times(&trip, &JournalEvent::Pulse {});
    assert_eq!(pulses, [first_ns + 1_000_000_000], "{:?}", trip.records());
}

#[test]
fn a_mark_is_acknowledged_within_50_ms_and_a_long_press_sounds_different_and_erases_nothing() {
    let chip = FileChip::hearing(&[MARK], 30);
    let mut recorder = chip.record();
    // The self-test sounds 'recording': short, long, short.
    let second = Duration::from_secs(1);
    assert!(
        chip.until_sounds(true, 5 * second).is_some(),
        "no self-test"
    );
    sleep(2 * second);
    let mut waits = Vec::new();
    for _ in 0..10 {
        let pressed_ns = monotonic::now_ns();
        chip.edge(MARK, FALLING, pressed_ns);
        assert!(chip.until_sounds(true, second).is_some());
        // The edge counts once the line has been still for the 12 ms of the config.
        waits.push((monotonic::now_ns() - pressed_ns) / 1_000 - 12_000);
        chip.edge(MARK, RISING, monotonic::now_ns());
        assert!(chip.until_sounds(false, second).is_some());
        sleep(Duration::from_millis(730));
    }
    waits.sort_unstable();
    println!(
        "figure: recorder: a mark sounds {waits:?} us after its debounced edge (50 ms allowed)"
    );
    // A busy machine may delay one of ten.
    assert!(waits[8] < 50_000, "{waits:?}");

    // A long press: the short tone of the mark, then long and short.
    chip.edge(MARK, FALLING, monotonic::now_ns());
    assert!(
        chip.until_sounds(true, second).is_some() && chip.until_sounds(false, second).is_some()
    );
    assert!(chip.until_sounds(true, 3 * second).is_some());
    let long = chip.until_sounds(false, second).unwrap();
    assert!(long > Duration::from_millis(300), "{long:?}");
    recorder.wait_for_output("mark withdrawn").unwrap();
    chip.edge(MARK, RISING, monotonic::now_ns());
    sleep(second);
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));
    let trip = chip.board.trip().unwrap();
    let marks = times(&trip, &JournalEvent::Mark {});
    let taken: Vec<u64> = trip
        .records()
        .iter()
        .filter_map(|record| match record.event {
            JournalEvent::MarkWithdrawn { mark_ns } => Some(mark_ns),
            _ => None,
        })
        .collect();
    assert_eq!(marks.len(), 11, "{:?}", trip.records());
    assert_eq!(taken, marks[9..]);
}

#[test]
fn the_self_test_at_start_sounds_short_long_short_when_it_records() {
    let chip = FileChip::hearing(&[], 20);
    let _recorder = chip.record();
    let second = Duration::from_secs(1);
    let mut tones = String::new();
    let mut patience = 5 * second;
    while chip.until_sounds(true, patience).is_some() {
        let length = chip.until_sounds(false, second).unwrap();
        // Short is 90 ms and long 400 ms in the table of signals.
        tones.push(if length < second / 5 { '.' } else { '-' });
        patience = second;
    }
    assert_eq!(tones, ".-.");
}

#[test]
fn the_self_test_at_start_of_a_board_that_cannot_record_sounds_why() {
    let chip = FileChip::new(&[]);
    // No sound arrives at all: three short tones after two seconds.
    let _recorder = chip.record();
    let mut tones = 0;
    let second = Duration::from_secs(1);
    assert!(chip.until_sounds(true, 6 * second).is_some());
    while chip.until_sounds(true, second / 2).is_some() {
        let length = chip.until_sounds(false, second).unwrap();
        assert!(length < Duration::from_millis(200), "{length:?}");
        tones += 1;
    }
    assert_eq!(tones, 3);
}
