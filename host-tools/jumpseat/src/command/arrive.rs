//! `jumpseat arrive`: a whole evening in one command.

use anyhow::Result;
use clap::Args;
use jumpseat_pull::PullReport;

use super::draft::draft;
use super::pull::{self, PullResults};
use super::review;
use crate::home::HomeFolder;
use crate::outcome::{CommandOutcome, error_message};
use crate::print;
use jumpseat_files::file_name;

#[derive(Debug, Args)]
pub(crate) struct ArriveCommand {
    #[command(flatten)]
    pulling: pull::PullOptions,
    /// Stop after drafting, without the review page
    #[arg(long)]
    no_page: bool,
    /// The port of the review page on this computer [default: any free port]
    #[arg(long, default_value_t = 0, hide_default_value = true)]
    port: u16,
    /// Print the link to the review page and open no browser
    #[arg(long)]
    no_open: bool,
}

impl ArriveCommand {
    pub(super) fn run(self, home: &HomeFolder) -> Result<CommandOutcome> {
        // What was pulled is drafted even if a board left during the pull or is away.
        let PullResults { reports, missed } = self.pulling.pull(home, false)?;
        let mut doubts = reports.iter().any(PullReport::is_doubtful);
        let mut first = None;
        for folder in home.trip_folders()? {
            let name = file_name(&folder);
            let fresh = reports
                .iter()
                .any(|report| report.trip == name && report.copied > 0);
            // An interrupted evening leaves trips without a draft.
            if !fresh && home.heard_drive_file(&name).exists() {
                continue;
            }
            print::line("")?;
            let drafted = home
                .open_trip_to_log(&name)
                .and_then(|trip| draft(home, &trip, None, None));
            match drafted {
                Ok(outcome) => doubts |= outcome == CommandOutcome::Doubts,
                // The other trips can be drafted all the same.
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
