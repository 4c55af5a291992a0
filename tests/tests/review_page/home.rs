//! Homes with a drafted drive, and a browser that looks at one.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use jumpseat_entries::Draft;
use jumpseat_logbook::{EntryFilter, Logbook};
use jumpseat_simulator::copy_folder;
use jumpseat_tests::parts::{BrowserWindow, ReviewProcess, WebBrowser, drafted_demo};
use jumpseat_tests::tools;
use jumpseat_values::Alternative;
use serde_json::Value;

/// The name of the demo's trip.
pub(crate) const DEMO: &str = "trip-000001-3fa2c1";

/// A home in a folder of its own, which holds what else a test needs too.
pub(crate) struct ReviewedHome {
    pub(crate) folder: tempfile::TempDir,
}

impl ReviewedHome {
    /// A fresh copy of a home with the demo drive, drafted and not decided.
    pub(crate) fn demo() -> Self {
        static DRAFTED: OnceLock<tempfile::TempDir> = OnceLock::new();
        let drafted = DRAFTED.get_or_init(|| {
            let folder = tempfile::tempdir().unwrap();
            drafted_demo(&folder.path().join("home")).unwrap();
            folder
        });
        let home = Self::empty();
        copy_folder(&drafted.path().join("home"), &home.path()).unwrap();
        home
    }

    /// A home without anything.
    pub(crate) fn empty() -> Self {
        let folder = tempfile::tempdir().unwrap();
        Self { folder }
    }

    pub(crate) fn path(&self) -> PathBuf {
        self.folder.path().join("home")
    }

    pub(crate) fn review(&self, trip: Option<&str>) -> ReviewProcess {
        ReviewProcess::start(&self.path(), trip).unwrap()
    }

    pub(crate) fn browser(&self, window: BrowserWindow) -> WebBrowser {
        WebBrowser::start(self.folder.path(), window).unwrap()
    }

    /// A command on this home; gives what it printed.
    pub(crate) fn run(&self, arguments: &[&str]) -> String {
        let mut command = Command::new(tools::built("jumpseat").unwrap());
        command.arg("--home").arg(self.path()).args(arguments);
        tools::done(&mut command).unwrap()
    }

    /// Changes what was drafted of the demo drive.
    pub(crate) fn redraft(&self, change: impl FnMut(&mut Draft)) {
        let mut logbook = Logbook::open(&self.path().join("logbook.sqlite")).unwrap();
        let entries = logbook.entries(&EntryFilter::Trip(DEMO)).unwrap();
        let mut drafts: Vec<Draft> = entries
            .into_iter()
            .filter_map(|entry| entry.draft)
            .collect();
        drafts.iter_mut().for_each(change);
        logbook.store_drafts(DEMO, &drafts).unwrap();
    }

    /// The logbook as the command lists it.
    pub(crate) fn log(&self) -> Vec<Value> {
        serde_json::from_str(&self.run(&["log", "--json"])).unwrap()
    }
}

/// An ADIF file's header and records as adif-io reads them.
pub(crate) fn adif(file: &Path) -> Value {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("outside/adif.py");
    let mut command = Command::new(tools::python().unwrap());
    let output = tools::run(command.arg(script).arg(file)).unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
    serde_json::from_slice(&output.stdout).unwrap()
}

/// Another value that was heard.
pub(crate) fn other(value: String, probability: f64) -> Alternative<String> {
    Alternative { value, probability }
}
