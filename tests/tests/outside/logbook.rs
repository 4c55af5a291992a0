//! A logbook of its own for a check, filled from the demo drive or from random
//! records that another library wrote.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use jumpseat_tests::tools;
use serde_json::Value;

/// A home in a folder that vanishes with it.
pub(crate) struct ReferenceLogbook {
    folder: tempfile::TempDir,
    home: &'static str,
}

impl ReferenceLogbook {
    /// The demo drive, pulled, drafted and confirmed.
    pub(crate) fn demo() -> Self {
        let book = Self {
            folder: tempfile::tempdir().unwrap(),
            home: "demo/home",
        };
        book.run(&["demo", "--into", "demo"]);
        book
    }

    /// Random records, as adif-io writes them and we import them.
    pub(crate) fn random(seed: u32, count: usize) -> Self {
        let book = Self {
            folder: tempfile::tempdir().unwrap(),
            home: "home",
        };
        let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("outside/adif_random.py");
        let mut command = Command::new(tools::python().unwrap());
        command
            .arg(script)
            .args([seed.to_string(), count.to_string()])
            .args([book.at("random.adi"), book.at("random.json")]);
        let output = tools::run(&mut command).unwrap();
        assert!(
            output.status.success(),
            "{}",
            String::from_utf8_lossy(&output.stderr)
        );
        book.run(&["import", "random.adi"]);
        book
    }

    pub(crate) fn at(&self, file: &str) -> PathBuf {
        self.folder.path().join(file)
    }

    /// What a command prints; it may have doubts.
    pub(crate) fn run(&self, arguments: &[&str]) -> String {
        let mut command = Command::new(tools::built("jumpseat").unwrap());
        command.args(["--home", self.home]).args(arguments);
        tools::done(command.current_dir(self.folder.path())).unwrap()
    }

    /// The contacts of the logbook.
    pub(crate) fn contacts(&self) -> Vec<Value> {
        let log: Vec<Value> = serde_json::from_str(&self.run(&["log", "--json"])).unwrap();
        log.into_iter()
            .map(|entry| entry["contact"].clone())
            .collect()
    }

    /// Everything in a format.
    pub(crate) fn export(&self, format: &str) -> PathBuf {
        let out = self.at(&format!("out.{format}"));
        let path = out.to_str().unwrap();
        self.run(&["export", "--format", format, "--all", "--out", path]);
        assert!(fs::metadata(&out).unwrap().len() > 0);
        out
    }
}
