//! `jumpseat pull`.

use std::path::PathBuf;
use std::time::Duration;

use anyhow::{Error, Result};
use clap::Args;
use jumpseat_values::display::count;

use super::check::print_changed_trip;
use crate::home::HomeFolder;
use crate::outcome::{CommandOutcome, UsageError, error_message};
use crate::print;
use crate::progress::waiting;
use crate::pull::{MissingFile, PullEvent, PullReport, PullRequest, boards_nearby, pull};
use crate::text::bytes;
use crate::verify::verify_due_trips;

#[derive(Debug, Args)]
pub(crate) struct PullCommand {
    #[command(flatten)]
    options: PullOptions,
    /// Prints what happens as lines of JSON: found, progress, file, trip, end or failed
    #[arg(long)]
    json: bool,
}

/// What is pulled from where.
#[derive(Debug, Args)]
pub(crate) struct PullOptions {
    /// A trip's folder, a card or folder that holds trips, or a board as
    /// ssh://user@host[:port][/path] [default: `board` and `boards` in
    /// station.toml, or the boards that answer on this network]
    #[arg(value_name = "SOURCE")]
    source: Option<String>,
    /// Reads again what is there already and compares every byte
    #[arg(long)]
    verify: bool,
    /// A configuration file for ssh in place of your usual one
    #[arg(long, value_name = "FILE")]
    ssh_config: Option<PathBuf>,
    /// A source with more than so many gigabytes of trips is refused
    #[arg(long, value_name = "GB", default_value_t = DEFAULT_AT_MOST_GB)]
    at_most_gb: u64,
    /// A board that says nothing for so many seconds is given up; what came of it
    /// stays for the next pull
    #[arg(long, value_name = "SECONDS", default_value_t = DEFAULT_PATIENCE_S,
        value_parser = clap::value_parser!(u64).range(1..=86_400))]
    patience: u64,
}

/// What one pull brought.
pub(super) struct PullResults {
    pub(super) reports: Vec<PullReport>,
    /// The first source that could not be pulled.
    pub(super) missed: Option<Error>,
}

/// Files that did not come and are listed.
const MAX_MISSING_LINES: usize = 20;
/// Twice a month of long drives.
const DEFAULT_AT_MOST_GB: u64 = 64;
/// A card that hangs in the board does so for seconds.
const DEFAULT_PATIENCE_S: u64 = 60;
const GB: u64 = 1_000_000_000;

impl PullOptions {
    /// Pulls from every source that is meant, and says what was done about each trip.
    /// With `json` each event is a line.
    pub(super) fn pull(&self, home: &HomeFolder, json: bool) -> Result<PullResults> {
        let (mut reports, mut missed) = (Vec::new(), None);
        for source in self.sources(home)? {
            match self.pull_one(home, &source, json, &mut reports) {
                Ok(()) => {}
                Err(error) => {
                    if json {
                        tell_line(&PullEvent::Failed {
                            error: &error_message(&error),
                        })?;
                    } else if missed.is_some() {
                        print::aside(&format!("jumpseat: {}", error_message(&error)));
                    }
                    missed = missed.or(Some(error));
                }
            }
        }
        Ok(PullResults { reports, missed })
    }

    fn pull_one(
        &self,
        home: &HomeFolder,
        source: &str,
        json: bool,
        all: &mut Vec<PullReport>,
    ) -> Result<()> {
        let silent = |_: &PullEvent<'_>| Ok(());
        let mut reports = Vec::new();
        let done = pull(
            home,
            &PullRequest {
                source,
                verify: self.verify,
                ssh_config: self.ssh_config.as_deref(),
                at_most: self.at_most_gb.saturating_mul(GB),
                patience: Duration::from_secs(self.patience),
                tell: if json { &tell_line } else { &silent },
            },
            &mut reports,
        );
        if !json {
            reports.iter().try_for_each(print_report)?;
            say_missing(&reports)?;
        }
        all.extend(reports);
        done
    }

    /// What was given, or the boards of the station file.
    fn sources(&self, home: &HomeFolder) -> Result<Vec<String>> {
        if let Some(source) = &self.source {
            return Ok(vec![source.clone()]);
        }
        let mut boards = home.station()?.boards();
        if boards.is_empty() {
            waiting("looking for boards on this network");
            boards = boards_nearby()?;
        }
        if boards.is_empty() {
            return Err(UsageError(format!(
                "no board answers on this network. Say where the trips are: a card's folder or \
                 ssh://user@host, or write `board = \"ssh://user@host\"` into {}",
                home.dir().join("station.toml").display()
            ))
            .into());
        }
        Ok(boards)
    }
}

impl PullCommand {
    pub(super) fn run(self, home: &HomeFolder) -> Result<CommandOutcome> {
        let PullResults { reports, missed } = self.options.pull(home, self.json)?;
        let doubts = reports.iter().any(PullReport::is_doubtful);
        let mut new: Vec<&str> = reports
            .iter()
            .filter(|report| report.copied > 0)
            .map(|report| report.trip.as_str())
            .collect();
        new.dedup();
        if !self.json {
            for trip in &new {
                print::line(&format!("Next: {} draft {trip}", home.command()))?;
            }
        }
        if let Some(error) = missed {
            return Err(error);
        }
        if self.json {
            return Ok(CommandOutcome::doubtful(doubts));
        }
        if new.is_empty() {
            print::line("Nothing new.")?;
        }
        Ok(CommandOutcome::doubtful(doubts | verify_some(home)?))
    }
}

/// Verifies the trips of the library whose turn it is, as long as nobody minds the wait;
/// says which are not what they were. Whether there are such.
pub(super) fn verify_some(home: &HomeFolder) -> Result<bool> {
    let wrong = verify_due_trips(home)?;
    for (folder, verified) in &wrong {
        print_changed_trip(folder, verified, &home.command())?;
    }
    Ok(!wrong.is_empty())
}

/// One event, one line.
fn tell_line(event: &PullEvent<'_>) -> Result<()> {
    print::json_line(event)
}

/// One line for a trip, and one for each doubt.
pub(crate) fn print_report(report: &PullReport) -> Result<()> {
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
    if !report.missing.is_empty() {
        let files = count(report.missing.len(), "file", "files");
        print::line(&format!("  doubt: {files} could not be copied; see below"))?;
    }
    for note in &report.notes {
        print::line(&format!("  note: {note}"))?;
    }
    Ok(())
}

/// Lists the files that did not come, the first of them with why.
fn say_missing(reports: &[PullReport]) -> Result<()> {
    let missing: Vec<&MissingFile> = reports.iter().flat_map(|report| &report.missing).collect();
    if missing.is_empty() {
        return Ok(());
    }
    print::line("Not copied; the next pull tries again:")?;
    for MissingFile { trip, file, error } in missing.iter().take(MAX_MISSING_LINES) {
        print::line(&format!("  {trip}/{file}: {error}"))?;
    }
    if let Some(more @ 1..) = missing.len().checked_sub(MAX_MISSING_LINES) {
        print::line(&format!("  and {more} more; --json lists all"))?;
    }
    Ok(())
}
