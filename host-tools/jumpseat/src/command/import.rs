//! `jumpseat import`.

use std::path::PathBuf;

use anyhow::Result;
use clap::Args;

use super::whole;
use crate::home::Home;
use crate::import::{Report, import};
use crate::outcome::Outcome;
use crate::print;

/// Takes over .adi and .adx files of any program, and our own .csv. What cannot be
/// read is told with its line; the rest is imported. Importing twice changes nothing.
#[derive(Debug, Args)]
pub(crate) struct Import {
    /// The files
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Adds also contacts that the logbook has with other details (name, report), as entries of
    /// their own
    #[arg(long)]
    add_duplicates: bool,
    /// Contacts that began within so many minutes of each other may be the same [default: as
    /// station.toml says, or 30]
    #[arg(long, value_name = "MINUTES", value_parser = whole::<u32>)]
    within: Option<u32>,
    /// Prints JSON
    #[arg(long)]
    json: bool,
}

impl Import {
    pub(super) fn run(self, home: &Home) -> Result<Outcome> {
        let within = home.station()?.within(self.within);
        let mut reports: Vec<Report> = Vec::new();
        let mut failed = None;
        for file in &self.files {
            match import(home, file, self.add_duplicates, within) {
                Ok(report) => reports.push(report),
                // What was read before it is told all the same.
                Err(error) => {
                    failed = Some(error);
                    break;
                }
            }
        }
        if self.json {
            print::json(&reports)?;
        } else {
            for report in &reports {
                report.say(home)?;
            }
        }
        if let Some(error) = failed {
            return Err(error);
        }
        Ok(Outcome::doubtful(reports.iter().any(Report::is_doubtful)))
    }
}
