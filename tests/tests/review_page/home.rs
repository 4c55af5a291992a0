//! Homes with a drafted drive, and a browser that looks at one.

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use jumpseat_entries::Draft;
use jumpseat_logbook::{EntryFilter, Logbook};
use jumpseat_test_kit::{DEMO_TRIP, TestHome, copy_folder, done, outside_script};
use jumpseat_tests::parts::{BrowserWindow, ReviewProcess, WebBrowser, drafted_demo};
use jumpseat_values::Alternative;
use serde_json::Value;

/// The name of the demo's trip.
pub(crate) const DEMO: &str = DEMO_TRIP;

/// A home in a folder of its own, which holds what else a test needs too.
pub(crate) struct ReviewedHome {
    home: TestHome,
}

impl ReviewedHome {
    /// A fresh copy of a home with the demo drive, drafted and not decided.
    pub(crate) fn demo() -> Self {
        static DRAFTED: OnceLock<TestHome> = OnceLock::new();
        let drafted = DRAFTED.get_or_init(|| {
            let home = TestHome::empty().unwrap();
            drafted_demo(&home.path()).unwrap();
            home
        });
        let home = Self::empty();
        copy_folder(&drafted.path(), &home.path()).unwrap();
        home
    }

    /// A home without anything.
    pub(crate) fn empty() -> Self {
        let home = TestHome::empty().unwrap();
        Self { home }
    }

    /// A path beside the home.
    pub(crate) fn at(&self, name: &str) -> PathBuf {
        self.home.at(name)
    }

    pub(crate) fn path(&self) -> PathBuf {
        self.home.path()
    }

    pub(crate) fn review(&self, trip: Option<&str>) -> ReviewProcess {
        ReviewProcess::start(&self.path(), trip).unwrap()
    }

    pub(crate) fn browser(&self, window: BrowserWindow) -> WebBrowser {
        WebBrowser::start(self.home.folder(), window).unwrap()
    }

    /// A command on this home; gives what it printed.
    pub(crate) fn run(&self, arguments: &[&str]) -> String {
        self.home.run(arguments).done().out.clone()
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
    let read = done(outside_script("adif.py").unwrap().arg(file)).unwrap();
    serde_json::from_str(&read).unwrap()
}

/// Another value that was heard.
pub(crate) fn other(value: String, probability: f64) -> Alternative<String> {
    Alternative { value, probability }
}
