//! `jumpseat pull`.

use std::path::PathBuf;

use anyhow::Result;
use clap::Args;

use crate::home::Home;
use crate::outcome::Outcome;
use crate::print;
use crate::pull::{Report, Request, pull};
use crate::text::{bytes, count};

#[derive(Debug, Args)]
pub(crate) struct Pull {
    /// A trip's folder, a card or folder that holds trips, or a board as
    /// ssh://user@host[:port][/path]
    #[arg(value_name = "SOURCE")]
    source: String,
    /// Reads again what is there already and compares every byte
    #[arg(long)]
    verify: bool,
    /// A configuration file for ssh in place of your usual one
    #[arg(long, value_name = "FILE")]
    ssh_config: Option<PathBuf>,
    /// A source with more than so many gigabytes of trips is refused
    #[arg(long, value_name = "GB", default_value_t = USUAL_MOST_GB)]
    at_most_gb: u64,
}

/// Twice a month of long drives.
const USUAL_MOST_GB: u64 = 64;
const GB: u64 = 1_000_000_000;

impl Pull {
    pub(super) fn run(self, home: &Home) -> Result<Outcome> {
        let request = Request {
            source: &self.source,
            verify: self.verify,
            ssh_config: self.ssh_config.as_deref(),
            at_most: self.at_most_gb.saturating_mul(GB),
        };
        let reports = pull(home, &request)?;
        let mut doubts = false;
        for report in &reports {
            doubts |= !report.doubts.is_empty();
            say(report)?;
        }
        let new: Vec<&str> = reports
            .iter()
            .filter(|report| report.copied > 0)
            .map(|report| report.trip.as_str())
            .collect();
        for trip in &new {
            print::line(&format!("Next: {} draft {trip}", home.command()))?;
        }
        if new.is_empty() {
            print::line("Nothing new.")?;
        }
        Ok(Outcome::doubtful(doubts))
    }
}

/// One line for a trip, and one for each doubt.
pub(crate) fn say(report: &Report) -> Result<()> {
    let here = match report.present {
        0 => String::new(),
        present => format!(", {} here already", count(present, "file", "files")),
    };
    print::line(&format!(
        "{}: {} copied and verified ({}){here}",
        report.trip,
        count(report.copied, "file", "files"),
        bytes(report.bytes)
    ))?;
    for doubt in &report.doubts {
        print::line(&format!("  doubt: {doubt}"))?;
    }
    for note in &report.notes {
        print::line(&format!("  note: {note}"))?;
    }
    Ok(())
}
