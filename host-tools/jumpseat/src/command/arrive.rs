//! `jumpseat arrive`: the whole evening in one go.

use anyhow::Result;
use clap::Args;

use super::draft::draft;
use super::pull::{self, Pulled};
use super::review;
use crate::home::{Home, name_of};
use crate::outcome::{Outcome, words};
use crate::print;
use crate::pull::Report;

#[derive(Debug, Args)]
pub(crate) struct Arrive {
    #[command(flatten)]
    pulling: pull::Options,
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

impl Arrive {
    pub(super) fn run(self, home: &Home) -> Result<Outcome> {
        // A board that left in mid-pull, or never came, is no reason to leave what
        // is here without a draft.
        let Pulled { reports, missed } = self.pulling.pull(home, false)?;
        let mut doubts = reports.iter().any(Report::is_doubtful);
        let mut first = None;
        for folder in home.trip_folders()? {
            let name = name_of(&folder);
            let fresh = reports
                .iter()
                .any(|report| report.trip == name && report.copied > 0);
            // An evening that was broken off left trips without a draft.
            if !fresh && home.drive(&name).exists() {
                continue;
            }
            print::line("")?;
            let drafted = home
                .open_trip(&name)
                .and_then(|trip| draft(home, &trip, None, None));
            match drafted {
                Ok(outcome) => doubts |= outcome == Outcome::Doubts,
                // The other trips are no worse for it.
                Err(error) => {
                    doubts = true;
                    print::line(&format!("{name} was not drafted: {}", words(&error)))?;
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
            print::aside(&format!("jumpseat: {}", words(&error)));
        }
        if first.is_none() {
            print::line("Nothing new to draft.")?;
        }
        if self.no_page {
            return Ok(Outcome::doubtful(doubts));
        }
        let options = review::Options {
            port: self.port,
            no_open: self.no_open,
            json: false,
        };
        let trip = first.map(|name| home.trip_name(&name)).transpose()?;
        review::open(home, trip.as_deref(), options)
    }
}
