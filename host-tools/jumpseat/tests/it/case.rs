//! A separate home for every test, and the result of running the command in it.

use std::env;
use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::OnceLock;

use serde_json::Value;

/// The demo's trip, which every build holds.
pub(crate) const TRIP: &str = "trip-000001-3fa2c1";

/// A folder with a home in it; it vanishes with the value.
pub(crate) struct HomeCase {
    folder: tempfile::TempDir,
}

impl HomeCase {
    /// An empty home.
    pub(crate) fn empty() -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
        }
    }

    /// A home as the demo leaves it: one trip pulled and drafted, two contacts
    /// confirmed and exported as ADIF.
    pub(crate) fn after_demo() -> Self {
        let case = Self::drafted();
        for (number, call) in [("1", "KB0QSE"), ("2", "N0QRD")] {
            case.run(&["confirm", number, "--call", call]).code(0);
        }
        let adi = ["export", "--format", "adif", "--out", "contacts.adi"];
        case.run(&adi).code(0);
        case
    }

    /// A card with the demo's trip, and an empty home.
    pub(crate) fn with_card() -> Self {
        let case = Self::empty();
        let from = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("demo")
            .join(TRIP);
        copy(&from, &case.card());
        case
    }

    /// A card with the demo's trip, pulled and drafted. Listening takes a while
    /// without optimisation, so it is done once and copied.
    pub(crate) fn drafted() -> Self {
        static DONE: OnceLock<PathBuf> = OnceLock::new();
        let done = DONE.get_or_init(|| {
            let case = Self::with_card();
            case.run(&["pull", "card"]).code(0);
            case.run(&["draft", TRIP]).done();
            let kept = Path::new(env!("CARGO_TARGET_TMPDIR")).join("drafted");
            if kept.exists() {
                fs::remove_dir_all(&kept).unwrap();
            }
            copy(case.folder.path(), &kept);
            kept
        });
        let case = Self::empty();
        copy(done, case.folder.path());
        case
    }

    pub(crate) fn home(&self) -> PathBuf {
        self.at("home")
    }

    /// The trip's folder on the card.
    pub(crate) fn card(&self) -> PathBuf {
        self.at("card").join(TRIP)
    }

    /// The trip's folder in the library.
    pub(crate) fn pulled(&self) -> PathBuf {
        self.home().join("trips").join(TRIP)
    }

    /// A path in the case's folder, which is also the working folder.
    pub(crate) fn at(&self, path: &str) -> PathBuf {
        self.folder.path().join(path)
    }

    pub(crate) fn write(&self, path: &str, text: impl AsRef<[u8]>) {
        let path = self.at(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    pub(crate) fn read(&self, path: &str) -> String {
        fs::read_to_string(self.at(path)).unwrap()
    }

    /// Runs the command in the folder, with its home there, by a shell that finds it.
    pub(crate) fn run(&self, arguments: &[&str]) -> CommandRun {
        let program = Path::new(env!("CARGO_BIN_EXE_jumpseat"));
        let path = env::var_os("PATH").unwrap_or_default();
        let mut folders = vec![program.parent().unwrap().to_owned()];
        folders.extend(env::split_paths(&path));
        self.run_with_path(&env::join_paths(folders).unwrap(), arguments)
    }

    /// Starts the command as [`HomeCase::run`] does, and does not wait for it.
    pub(crate) fn start(&self, arguments: &[&str]) -> Child {
        Command::new(env!("CARGO_BIN_EXE_jumpseat"))
            .arg("--home")
            .arg("home")
            .args(arguments)
            .current_dir(self.folder.path())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap()
    }

    /// As [`HomeCase::run`], where the shell looks for programs in other places.
    pub(crate) fn run_with_path(&self, path: &OsStr, arguments: &[&str]) -> CommandRun {
        let output = Command::new(env!("CARGO_BIN_EXE_jumpseat"))
            .env("PATH", path)
            .arg("--home")
            .arg("home")
            .args(arguments)
            .current_dir(self.folder.path())
            .output()
            .unwrap();
        CommandRun {
            arguments: arguments.join(" "),
            output,
        }
    }
}

/// What a command did.
pub(crate) struct CommandRun {
    arguments: String,
    output: Output,
}

impl CommandRun {
    pub(crate) fn out(&self) -> String {
        String::from_utf8(self.output.stdout.clone()).unwrap()
    }

    pub(crate) fn err(&self) -> String {
        String::from_utf8(self.output.stderr.clone()).unwrap()
    }

    pub(crate) fn status(&self) -> Option<i32> {
        self.output.status.code()
    }

    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.out()).unwrap()
    }

    /// Fails unless it exited with this code; an error is said on standard error
    /// and nowhere else, and never as a panic.
    #[track_caller]
    pub(crate) fn code(&self, expected: i32) -> &Self {
        let (out, err) = (self.out(), self.err());
        let said = format!("jumpseat {}\n{out}{err}", self.arguments);
        assert_eq!(self.output.status.code(), Some(expected), "{said}");
        assert_eq!(err.is_empty(), matches!(expected, 0 | 3), "{said}");
        assert!(!err.contains("panicked"), "{said}");
        self
    }

    /// Fails unless it did what was asked; whether doubts are left is for the
    /// recogniser to say.
    #[track_caller]
    pub(crate) fn done(&self) -> &Self {
        let doubts = self.output.status.code() == Some(3);
        self.code(if doubts { 3 } else { 0 })
    }

    /// Fails unless each of these was printed.
    #[track_caller]
    pub(crate) fn says(&self, parts: &[&str]) -> &Self {
        let said = self.out() + &self.err();
        let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
        for part in parts {
            assert!(flat.contains(part), "no '{part}' in\n{said}");
        }
        self
    }
}

pub(crate) fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let here = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &here);
        } else {
            fs::copy(entry.path(), here).unwrap();
        }
    }
}

/// Names in a folder, sorted, hidden ones too.
pub(crate) fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

/// Puts WAV files in place of a trip's FLAC, as the board writes them.
pub(crate) fn unpack(trip: &Path) {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 16_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let audio = trip.join("audio");
    for name in names(&audio) {
        let path = audio.join(name);
        let mut wav = hound::WavWriter::create(path.with_extension("wav"), spec).unwrap();
        for sample in jumpseat_trip::read_sound(&path, u64::MAX).unwrap() {
            wav.write_sample(sample).unwrap();
        }
        wav.finalize().unwrap();
        fs::remove_file(path).unwrap();
    }
}
