//! `jumpseat arrive`: the whole evening in one go.

use anyhow::Result;
use clap::Args;

use super::draft::draft;
use super::pull::{self, PullResults};
use super::review;
use crate::home::{HomeFolder, file_name};
use crate::outcome::{CommandOutcome, error_message};
use crate::print;
use crate::pull::PullReport;

#[derive(Debug, Args)]
pub(crate) struct ArriveCommand {
    #[command(flatten)]
    pulling: pull::PullOptions,
    /// Ends after drafting, without the review page
    #[arg(long)]
    no_page: bool,
    /// The port of the review page on this computer [default: any free one]
    #[arg(long, default_value_t = 0, hide_default_value = true)]
    port: u16,
    /// Prints the review page's link and opens no browser
    #[arg(long)]
    no_open: bool,
}

impl ArriveCommand {
    pub(super) fn run(self, home: &HomeFolder) -> Result<CommandOutcome> {
        // A board that left in mid-pull, or never came, is no reason to leave what
        // is here without a draft.
        let PullResults { reports, missed } = self.pulling.pull(home, false)?;
        let mut doubts = reports.iter().any(PullReport::is_doubtful);
        let mut first = None;
        for folder in home.trip_folders()? {
            let name = file_name(&folder);
            let fresh = reports
                .iter()
                .any(|report| report.trip == name && report.copied > 0);
            // An evening that was broken off left trips without a draft.
            if !fresh && home.heard_drive_file(&name).exists() {
                continue;
            }
            print::line("")?;
            let drafted = home
                .open_trip_to_log(&name)
                .and_then(|trip| draft(home, &trip, None, None));
            match drafted {
                Ok(outcome) => doubts |= outcome == CommandOutcome::Doubts,
                // The other trips are no worse for it.
                Err(error) => {
                    doubts = true;
                    print::line(&format!(
                        "{name} was not drafted: {}",
                        error_message(&error)
                    ))?;
                    continue;
                }
            }
            first = first.or(Some(name));
        }
        doubts |= pull::verify_some(home)?;
        if let Some(error) = missed {
            if first.is_none() || self.no_page {
                return Err(error);
            }
            print::aside(&format!("jumpseat: {}", error_message(&error)));
        }
        if first.is_none() {
            print::line("Nothing new to draft.")?;
        }
        if self.no_page {
            return Ok(CommandOutcome::doubtful(doubts));
        }
        let options = review::ReviewOptions {
            port: self.port,
            no_open: self.no_open,
            json: false,
        };
        let trip = first.map(|name| home.trip_name(&name)).transpose()?;
        review::open(home, trip.as_deref(), options)
    }
}
