//! A logbook of its own for a check, filled from the demo drive or from random
//! records that another library wrote.

use std::fs;
use std::path::PathBuf;

use jumpseat_test_kit::{TestHome, done, outside_script};
use serde_json::Value;

/// A home whose logbook other programs read.
pub(crate) struct ReferenceLogbook {
    home: TestHome,
}

impl ReferenceLogbook {
    /// The demo drive, pulled, drafted and confirmed.
    pub(crate) fn demo() -> Self {
        let book = Self {
            home: TestHome::named("demo/home").unwrap(),
        };
        book.run(&["demo", "--into", "demo"]);
        book
    }

    /// Random records, as adif-io writes them and we import them.
    pub(crate) fn random(seed: u32, count: usize) -> Self {
        let book = Self {
            home: TestHome::empty().unwrap(),
        };
        let mut command = outside_script("adif_random.py").unwrap();
        command
            .args([seed.to_string(), count.to_string()])
            .args([book.at("random.adi"), book.at("random.json")]);
        done(&mut command).unwrap();
        book.run(&["import", "random.adi"]);
        book
    }

    pub(crate) fn at(&self, file: &str) -> PathBuf {
        self.home.at(file)
    }

    /// What a command prints; it may have doubts.
    pub(crate) fn run(&self, arguments: &[&str]) -> String {
        self.home.run(arguments).done().out.clone()
    }

    /// The contacts of the logbook.
    pub(crate) fn contacts(&self) -> Vec<Value> {
        let log = self.home.run(&["log", "--json"]).done().json();
        let entries = log.as_array().unwrap();
        entries
            .iter()
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
