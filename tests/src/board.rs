//! A board in a folder: a card, a config, and the real recorder running on them.

use std::cell::OnceCell;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitStatus};
use std::time::Duration;

use jumpseat_test_kit::{PartError, ProcessUsage, TestProcess, wait_until};
use jumpseat_trip::Trip;
use rustix::process::Signal;
use tempfile::TempDir;

use crate::parts::{LineFeed, SoundFifo};
use jumpseat_test_kit as kit;

/// How long a test waits for the recorder to do something.
const PATIENCE: Duration = Duration::from_secs(10);
/// How long it may take to end properly, on a machine that builds at the same time.
const CLOSING: Duration = Duration::from_secs(10);
const RECORDER: &str = "jumpseat-recorder";

/// A folder with a card and a config of its own; it is also the recorder's home folder.
#[derive(Debug)]
pub struct TestBoard {
    folder: PathBuf,
    card: PathBuf,
    /// The keys under [card].
    card_keys: String,
    config: String,
    feed: OnceCell<LineFeed>,
    _temporary: Option<TempDir>,
}

impl TestBoard {
    /// A board in a temporary folder. Nothing is connected to it.
    pub fn new() -> Result<Self, PartError> {
        let folder = tempfile::tempdir().map_err(PartError::file(&std::env::temp_dir()))?;
        let board = Self::at(folder.path(), &folder.path().join("card"))?;
        Ok(Self {
            _temporary: Some(folder),
            ..board
        })
    }

    /// A board in `folder` whose trips go into `card`; both are created where they are
    /// missing.
    pub fn at(folder: &Path, card: &Path) -> Result<Self, PartError> {
        for made in [folder, card] {
            fs::create_dir_all(made).map_err(PartError::file(made))?;
        }
        Ok(Self {
            folder: folder.to_owned(),
            card: card.to_owned(),
            card_keys: format!(
                "dir = {card:?}, board = \"3fa2c1\", last_trip = {:?}",
                folder.join("last-trip")
            ),
            config: String::new(),
            feed: OnceCell::new(),
            _temporary: None,
        })
    }

    /// The same with this added to its config.
    pub fn with(mut self, config: &str) -> Self {
        self.config.push_str(config);
        self.config.push('\n');
        self
    }

    /// The same with this key added under [card].
    pub fn with_card(mut self, key: &str) -> Self {
        self.card_keys.push_str(", ");
        self.card_keys.push_str(key);
        self
    }

    /// The same with sound from this pipe: received on the left, transmitted on the right.
    pub fn with_sound(self, sound: &SoundFifo) -> Self {
        self.with(&format!(
            "sound = {{ device = \"{}\", rate = {}, channels = 2, rx = 0, tx = 1, period_frames = {} }}",
            sound.device(),
            sound.rate(),
            sound.period()
        ))
    }

    /// The same with a feed for its lines.
    pub fn with_feed(self) -> Self {
        let pipe = self.path("lines");
        self.with(&format!("lines = {{ feed = {{ fifo = {pipe:?} }} }}"))
    }

    /// A path in its folder.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    /// Its folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The folder of its trips.
    pub fn card(&self) -> &Path {
        &self.card
    }

    /// Writes its config file and gives the path.
    pub fn config(&self) -> Result<PathBuf, PartError> {
        let path = self.path("recorder.toml");
        let text = format!("card = {{ {} }}\n{}", self.card_keys, self.config);
        // Written once: a recorder that is just starting must not find the file half written.
        if fs::read_to_string(&path).is_ok_and(|written| written == text) {
            return Ok(path);
        }
        fs::write(&path, text).map_err(PartError::file(&path))?;
        Ok(path)
    }

    /// A subcommand of the recorder, such as `check`, with this board's config.
    pub fn command(&self, words: &[&str]) -> Result<Command, PartError> {
        let mut command = Command::new(kit::built(RECORDER)?);
        command.args(words).arg("--config").arg(self.config()?);
        command.env("HOME", &self.folder);
        Ok(command)
    }

    /// Starts recording; the trip exists when this returns.
    pub fn record(&self) -> Result<RunningRecorder, PartError> {
        self.record_with(|_| ())
    }

    /// The same with what `prepare` adds to the command's environment.
    pub fn record_with(
        &self,
        prepare: impl FnOnce(&mut Command),
    ) -> Result<RunningRecorder, PartError> {
        let mut command = self.command(&["run"])?;
        prepare(&mut command);
        let recorder = RunningRecorder::start(&command, &self.path("recorder.log"))?;
        recorder.wait_for_output("recording into")?;
        Ok(recorder)
    }

    /// Sends the level of "ptt", "mark" or another line through the feed, as soon as the
    /// recorder has created it.
    pub fn set_line(&self, line: &str, level: bool) -> Result<(), PartError> {
        let path = self.path("lines");
        if !wait_until(PATIENCE, || path.exists()) {
            return Err(PartError::failed(RECORDER, "makes no feed for its lines"));
        }
        let feed = match self.feed.get() {
            Some(feed) => feed,
            None => {
                let made = LineFeed::make(&path)?;
                self.feed.get_or_init(|| made)
            }
        };
        feed.set_line(line, level)
    }

    /// All trips on the card, oldest first.
    pub fn trips(&self) -> Result<Vec<Trip>, PartError> {
        let entries = fs::read_dir(&self.card).map_err(PartError::file(&self.card))?;
        let mut folders: Vec<PathBuf> = entries
            .filter_map(|entry| Some(entry.ok()?.path()))
            .filter(|path| path.join("journal.jsonl").exists())
            .collect();
        folders.sort();
        let open = |folder: &PathBuf| Trip::open(folder);
        let opened: Result<_, _> = folders.iter().map(open).collect();
        opened.map_err(|error| PartError::failed(RECORDER, error))
    }

    /// The one trip on the card.
    pub fn trip(&self) -> Result<Trip, PartError> {
        let [trip] = <[Trip; 1]>::try_from(self.trips()?).map_err(|trips| {
            let detail = format!("{} trips in {}", trips.len(), self.card.display());
            PartError::failed(RECORDER, detail)
        })?;
        Ok(trip)
    }
}

/// A running recorder. It is killed when it is dropped.
#[derive(Debug)]
pub struct RunningRecorder {
    process: TestProcess,
    log: PathBuf,
}

impl RunningRecorder {
    /// Starts one that may fail; its output goes to the file `log`.
    pub fn start(command: &Command, log: &Path) -> Result<Self, PartError> {
        Ok(Self {
            process: TestProcess::start(command, log)?,
            log: log.to_owned(),
        })
    }

    /// Its output so far.
    pub fn output(&self) -> String {
        fs::read_to_string(&self.log).unwrap_or_default()
    }

    /// Waits until its output contains this.
    pub fn wait_for_output(&self, text: &str) -> Result<(), PartError> {
        self.wait_for_any_output(&[text])
    }

    /// Waits until its output contains one of these.
    pub fn wait_for_any_output(&self, texts: &[&str]) -> Result<(), PartError> {
        self.wait_until(&texts.join(" or "), || {
            let said = self.output();
            texts.iter().any(|text| said.contains(text))
        })
    }

    /// Waits until `done` is true; `what` names it in the error.
    pub fn wait_until(&self, what: &str, done: impl FnMut() -> bool) -> Result<(), PartError> {
        if wait_until(PATIENCE, done) {
            return Ok(());
        }
        let detail = format!("{PATIENCE:?} without {what}; it said:\n{}", self.output());
        Err(PartError::failed(RECORDER, detail))
    }

    /// What it has used so far.
    pub fn usage(&self) -> Result<ProcessUsage, PartError> {
        self.process.usage()
    }

    /// Asks it to end with SIGTERM, as the system does, and waits for it.
    pub fn terminate(&mut self) -> Result<ExitStatus, PartError> {
        self.process.signal(Signal::TERM)?;
        self.process.end(CLOSING)
    }

    /// Ends it as a power cut does.
    pub fn kill(&mut self) -> Result<(), PartError> {
        self.process.signal(Signal::KILL)?;
        self.end().map(drop)
    }

    /// Waits until it ends on its own.
    pub fn end(&mut self) -> Result<ExitStatus, PartError> {
        self.process.end(PATIENCE)
    }
}
