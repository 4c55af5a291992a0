//! `jumpseat pull`.

use std::path::PathBuf;

use anyhow::Result;
use clap::Args;
use jumpseat_log::form::count;

use crate::home::Home;
use crate::outcome::{Misuse, Outcome};
use crate::print;
use crate::pull::{Report, Request, pull};
use crate::text::bytes;

#[derive(Debug, Args)]
pub(crate) struct Pull {
    #[command(flatten)]
    options: Options,
}

/// What is pulled from where.
#[derive(Debug, Args)]
pub(crate) struct Options {
    /// A trip's folder, a card or folder that holds trips, or a board as
    /// ssh://user@host[:port][/path] [default: `board` in station.toml]
    #[arg(value_name = "SOURCE")]
    source: Option<String>,
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

impl Options {
    /// Pulls, and says what was done about each trip.
    pub(super) fn pull(&self, home: &Home) -> Result<Vec<Report>> {
        let source = match &self.source {
            Some(source) => source.clone(),
            None => home.station()?.board.ok_or_else(|| {
                Misuse(format!(
                    "say where the trips are: a card's folder or ssh://user@host, or write \
                     `board = \"ssh://user@host\"` into {}",
                    home.dir().join("station.toml").display()
                ))
            })?,
        };
        let request = Request {
            source: &source,
            verify: self.verify,
            ssh_config: self.ssh_config.as_deref(),
            at_most: self.at_most_gb.saturating_mul(GB),
        };
        let reports = pull(home, &request)?;
        for report in &reports {
            say(report)?;
        }
        Ok(reports)
    }
}

impl Pull {
    pub(super) fn run(self, home: &Home) -> Result<Outcome> {
        let reports = self.options.pull(home)?;
        let doubts = reports.iter().any(|report| !report.doubts.is_empty());
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
