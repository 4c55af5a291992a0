//! `jumpseat pull`.

use anyhow::Result;
use clap::Args;

use crate::home::Home;
use crate::outcome::Outcome;
use crate::print;
use crate::pull::{Report, pull};
use crate::text::{bytes, count};

#[derive(Debug, Args)]
pub(crate) struct Pull {
    /// A trip's folder, or a card or folder that holds trips
    #[arg(value_name = "FOLDER")]
    source: String,
    /// Reads again what is there already and compares every byte
    #[arg(long)]
    verify: bool,
}

impl Pull {
    pub(super) fn run(self, home: &Home) -> Result<Outcome> {
        let reports = pull(home, &self.source, self.verify)?;
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
    Ok(())
}
