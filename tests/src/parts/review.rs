//! The review page as the command serves it, and home folders for it to serve.

use std::fs;
use std::path::Path;
use std::process::Command;
use std::time::Duration;

use jumpseat_test_kit::{PartError, ProcessUsage, TestProcess, wait_until};
use serde_json::Value;

use jumpseat_test_kit as kit;

/// A running `jumpseat review`.
#[derive(Debug)]
pub struct ReviewProcess {
    /// The first link, with its secret.
    pub link: String,
    /// Its port.
    pub port: u16,
    process: TestProcess,
}

impl ReviewProcess {
    /// Serves a home folder, beginning with a trip or with the list of all.
    pub fn start(home: &Path, trip: Option<&str>) -> Result<Self, PartError> {
        let mut command = Command::new(kit::built("jumpseat")?);
        command.arg("--home").arg(home).arg("review").args(trip);
        command.args(["--no-open", "--json"]);
        let log = home.with_extension("review.log");
        let process = TestProcess::start(&command, &log)?;
        let mut told = None;
        wait_until(Duration::from_secs(20), || {
            let said = fs::read_to_string(&log).unwrap_or_default();
            told = serde_json::from_str::<Value>(&said).ok();
            told.is_some()
        });
        let told = told.unwrap_or_default();
        let port = told["port"].as_u64().and_then(|port| port.try_into().ok());
        let link = told["url"].as_str().map(str::to_owned);
        let (link, port) = link.zip(port).ok_or_else(|| {
            let said = fs::read_to_string(&log).unwrap_or_default();
            PartError::failed("jumpseat review", format!("no link in {said:?}"))
        })?;
        Ok(Self {
            link,
            port,
            process,
        })
    }

    /// What it has used.
    pub fn usage(&self) -> Result<ProcessUsage, PartError> {
        self.process.usage()
    }

    /// Ends it as a power cut would, at once.
    pub fn kill(self) {
        drop(self);
    }
}

/// Creates a home folder with the demo drive, pulled and drafted, nothing confirmed.
pub fn drafted_demo(home: &Path) -> Result<(), PartError> {
    drafted_from(&kit::demo_card(), home, str::to_owned)
}

/// Creates a home folder with the trips of a card, drafted after `change` was applied to
/// their journals.
pub fn drafted_from(
    card: &Path,
    home: &Path,
    change: impl Fn(&str) -> String,
) -> Result<(), PartError> {
    // A copy, because a pull writes receipts onto the card.
    let copy = home.with_extension("card");
    jumpseat_test_kit::copy_folder(card, &copy)?;
    let trips = fs::read_dir(&copy).map_err(PartError::file(&copy))?;
    for trip in trips.filter_map(Result::ok) {
        let journal = trip.path().join("journal.jsonl");
        if journal.exists() {
            let text = fs::read_to_string(&journal).map_err(PartError::file(&journal))?;
            fs::write(&journal, change(&text)).map_err(PartError::file(&journal))?;
        }
    }
    pull_and_draft(&copy, home)
}

/// Pulls the trip of a card into a home folder and drafts it.
pub fn pull_and_draft(card: &Path, home: &Path) -> Result<(), PartError> {
    for arguments in [
        &["pull".into(), card.as_os_str().to_owned()][..],
        &["draft".into(), "1".into()],
    ] {
        let mut command = Command::new(kit::built("jumpseat")?);
        kit::done(command.arg("--home").arg(home).args(arguments))?;
    }
    Ok(())
}
