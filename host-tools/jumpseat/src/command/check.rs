//! `jumpseat check`.

use anyhow::Result;
use clap::Args;
use jumpseat_trip::{Verdict, health};

use crate::clock;
use crate::home::Home;
use crate::outcome::Outcome;
use crate::print;

#[derive(Debug, Args)]
pub(crate) struct Check {
    /// A trip's folder, its name in the library, or its number alone
    trip: String,
    /// Prints JSON
    #[arg(long)]
    json: bool,
}

impl Check {
    pub(super) fn run(self, home: &Home) -> Result<Outcome> {
        let trip = home.open_trip(&self.trip)?;
        let report = health(&trip, &clock::timeline(&trip));
        if self.json {
            print::json(&report)?;
        } else {
            for line in report.lines() {
                print::line(&line)?;
            }
        }
        Ok(Outcome::doubtful(report.verdict != Verdict::Good))
    }
}
