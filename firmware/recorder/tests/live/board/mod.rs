//! A board in a temporary folder: the real recorder, an ALSA device that plays
//! what the test feeds it, and a feed for the lines.

pub(crate) mod feeder;
pub(crate) mod trip;

use std::fs::{self, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, kill_process};
use tempfile::TempDir;

pub(crate) use feeder::Feeder;
pub(crate) use trip::Trip;

/// A folder with a card, a config and a sound device of its own.
pub(crate) struct Board {
    dir: TempDir,
    config: String,
}

impl Board {
    /// A board whose ALSA device "fifoin" brings two channels of 16-bit frames
    /// from a named pipe.
    pub(crate) fn new() -> Self {
        let board = Self::bare();
        let lines = board.path("lines");
        board.with(&format!(
            "lines = {{ feed = {{ fifo = \"{}\" }} }}",
            lines.display()
        ))
    }

    /// The same without a feed for the lines.
    pub(crate) fn bare() -> Self {
        let dir = tempfile::tempdir().unwrap();
        let at = dir.path().display();
        fs::create_dir(dir.path().join("card")).unwrap();
        let asoundrc = format!(
            "pcm.fifoin {{ type file slave.pcm {{ type null }} file /dev/null \
             infile {at}/sound format raw hint {{ show on description \"fifo\" }} }}\n"
        );
        fs::write(dir.path().join(".asoundrc"), asoundrc).unwrap();
        let config = format!("card = {{ dir = \"{at}/card\", board = \"3fa2c1\" }}\n");
        Self { dir, config }
    }

    /// The same with this added to its config.
    pub(crate) fn with(mut self, config: &str) -> Self {
        self.config.push_str(config);
        self.config.push('\n');
        self
    }

    /// The same with sound from the pipe at this rate.
    pub(crate) fn with_sound(self, rate: u32) -> Self {
        self.with(&format!(
            "sound = {{ device = \"fifoin\", rate = {rate}, channels = 2, rx = 0, tx = 1, \
             period_frames = {} }}",
            feeder::PERIOD
        ))
    }

    /// A path in the board's folder.
    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    /// A command of the recorder with this board's config.
    pub(crate) fn command(&self, words: &[&str]) -> Command {
        let config = self.path("recorder.toml");
        fs::write(&config, &self.config).unwrap();
        let mut command = Command::new(env!("CARGO_BIN_EXE_jumpseat-recorder"));
        command
            .args(words)
            .arg("--config")
            .arg(config)
            .env("HOME", self.dir.path());
        command
    }

    /// Starts recording; returns when the trip folder is there.
    pub(crate) fn record(&self) -> Recorder {
        self.record_with(&[])
    }

    /// The same with these environment variables.
    pub(crate) fn record_with(&self, environment: &[(&str, &str)]) -> Recorder {
        let log = fs::File::create(self.path("log")).unwrap();
        let child = self
            .command(&["run"])
            .envs(environment.iter().copied())
            .stdout(Stdio::null())
            .stderr(log)
            .spawn()
            .unwrap();
        let recorder = Recorder {
            child,
            log: self.path("log"),
        };
        wait_for(&recorder.log, "recording into", || {
            recorder.says("recording into")
        });
        recorder
    }

    /// Says something on the line feed, as soon as the recorder has made it.
    pub(crate) fn say(&self, line: &str) {
        let path = self.path("lines");
        wait_for(&self.path("log"), "the line feed", || path.exists());
        let mut feed = OpenOptions::new().write(true).open(path).unwrap();
        writeln!(feed, "{line}").unwrap();
    }

    /// The one trip on the card.
    #[track_caller]
    pub(crate) fn trip(&self) -> Trip {
        let mut trips = self.trips();
        assert_eq!(trips.len(), 1);
        trips.remove(0)
    }

    /// All trips on the card, oldest first.
    pub(crate) fn trips(&self) -> Vec<Trip> {
        Trip::all(&self.path("card"))
    }
}

/// Waits up to 10 s, then fails with the recorder's log.
#[track_caller]
pub(crate) fn wait_for(log: &Path, what: &str, mut done: impl FnMut() -> bool) {
    let began = Instant::now();
    while !done() {
        if began.elapsed() > Duration::from_secs(10) {
            let log = fs::read_to_string(log).unwrap_or_default();
            panic!("10 s without {what}; the recorder says:\n{log}");
        }
        sleep(Duration::from_millis(20));
    }
}

/// A recorder that runs; killed if the test fails.
pub(crate) struct Recorder {
    child: Child,
    log: PathBuf,
}

impl Recorder {
    /// Its log holds this.
    pub(crate) fn says(&self, text: &str) -> bool {
        fs::read_to_string(&self.log).is_ok_and(|log| log.contains(text))
    }

    /// Waits until its log holds this.
    #[track_caller]
    pub(crate) fn hears(&self, text: &str) {
        self.hears_any(&[text]);
    }

    /// Waits until its log holds one of these.
    #[track_caller]
    pub(crate) fn hears_any(&self, texts: &[&str]) {
        let says = || texts.iter().any(|text| self.says(text));
        wait_for(&self.log, &texts.join(" or "), says);
    }

    /// Asks it to end, as the system does.
    pub(crate) fn terminate(mut self) -> ExitStatus {
        kill_process(self.pid(), Signal::TERM).unwrap();
        let began = Instant::now();
        loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                return status;
            }
            let waited = began.elapsed();
            assert!(waited < Duration::from_secs(5), "it does not end");
            sleep(Duration::from_millis(20));
        }
    }

    /// Ends it as a power cut does.
    pub(crate) fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    fn pid(&self) -> Pid {
        Pid::from_child(&self.child)
    }
}

impl Drop for Recorder {
    fn drop(&mut self) {
        // It may have ended already.
        let _ended = self.child.kill();
        let _reaped = self.child.wait();
    }
}
