//! A separate home for every test, and the result of running the command in it.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};
use std::sync::OnceLock;

use jumpseat_test_kit::{TestHome, file_names};

pub(crate) use jumpseat_test_kit::{CommandReply, DEMO_TRIP as TRIP, copy_folder};

/// A folder with a home in it; it vanishes with the value.
pub(crate) struct HomeCase {
    home: TestHome,
}

impl HomeCase {
    /// An empty home.
    pub(crate) fn empty() -> Self {
        Self {
            home: TestHome::empty().unwrap(),
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
        Self {
            home: TestHome::with_demo_card().unwrap(),
        }
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
            copy_folder(case.home.folder(), &kept).unwrap();
            kept
        });
        let case = Self::empty();
        copy_folder(done, case.home.folder()).unwrap();
        case
    }

    pub(crate) fn home(&self) -> PathBuf {
        self.home.path()
    }

    /// The trip's folder on the card.
    pub(crate) fn card(&self) -> PathBuf {
        self.at("card").join(TRIP)
    }

    /// The trip's folder in the library.
    pub(crate) fn pulled(&self) -> PathBuf {
        self.home.trip(TRIP)
    }

    /// A path in the case's folder, which is also the working folder.
    pub(crate) fn at(&self, path: &str) -> PathBuf {
        self.home.at(path)
    }

    pub(crate) fn write(&self, path: &str, text: impl AsRef<[u8]>) {
        self.home.write(path, text).unwrap();
    }

    pub(crate) fn read(&self, path: &str) -> String {
        fs::read_to_string(self.at(path)).unwrap()
    }

    /// Runs the command in the folder, with its home there, by a shell that finds it.
    pub(crate) fn run(&self, arguments: &[&str]) -> CommandReply {
        self.home.run(arguments)
    }

    /// Starts the command as [`HomeCase::run`] does, and does not wait for it.
    pub(crate) fn start(&self, arguments: &[&str]) -> Child {
        let mut command = self.home.command(arguments).unwrap();
        command.stdout(Stdio::null()).stderr(Stdio::null());
        command.spawn().unwrap()
    }

    /// As [`HomeCase::run`], where the shell looks for programs in other places.
    pub(crate) fn run_with_path(&self, path: &OsStr, arguments: &[&str]) -> CommandReply {
        let mut command = self.home.command(arguments).unwrap();
        CommandReply::of(command.env("PATH", path))
    }
}

/// Names in a folder, sorted, hidden ones too.
pub(crate) fn names(folder: &Path) -> Vec<String> {
    file_names(folder).unwrap()
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
