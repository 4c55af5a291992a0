//! `jumpseat import`.

use std::path::PathBuf;

use anyhow::Result;
use clap::Args;

use super::arguments::whole_number;
use crate::home::HomeFolder;
use crate::import::{ImportReport, import};
use crate::outcome::CommandOutcome;
use crate::print;

/// Imports .adi and .adx files of any program, and our own .csv. A record that cannot be read
/// is reported with its line, and the others are imported. Importing a file twice changes
/// nothing.
#[derive(Debug, Args)]
pub(crate) struct ImportCommand {
    /// The files to import
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Add contacts that the logbook has with other details (name, report), too, as new entries
    #[arg(long)]
    add_duplicates: bool,
    /// Contacts that began within this many minutes of each other may be the same [default: the
    /// setting in station.toml, or 30]
    #[arg(long, value_name = "MINUTES", value_parser = whole_number::<u32>)]
    within: Option<u32>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

impl ImportCommand {
    pub(super) fn run(self, home: &HomeFolder) -> Result<CommandOutcome> {
        let within = home.station()?.duplicate_window(self.within);
        let mut reports: Vec<ImportReport> = Vec::new();
        let mut failed = None;
        for file in &self.files {
            match import(home, file, self.add_duplicates, within) {
                Ok(report) => reports.push(report),
                // The files before it are reported all the same.
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
        Ok(CommandOutcome::doubtful(
            reports.iter().any(ImportReport::is_doubtful),
        ))
    }
}
