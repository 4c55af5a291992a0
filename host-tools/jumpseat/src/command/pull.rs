//! `jumpseat pull`.

use std::cell::RefCell;
use std::io;
use std::path::PathBuf;
use std::time::Duration;

use anyhow::{Error, Result, anyhow};
use clap::Args;
use jumpseat_pull::{
    MissingFile, PullError, PullEvent, PullListener, PullReport, PullRequest, boards_nearby, pull,
};
use jumpseat_values::display::{byte_size, count};

use super::check::print_changed_trip;
use crate::home::HomeFolder;
use crate::outcome::{CommandOutcome, UsageError, error_message};
use crate::print;
use crate::progress::{ProgressLine, waiting};
use crate::system::path_argument;
use crate::verify::verify_due_trips;

#[derive(Debug, Args)]
pub(crate) struct PullCommand {
    #[command(flatten)]
    options: PullOptions,
    /// Print events as lines of JSON: found, progress, file, trip, end or failed
    #[arg(long)]
    json: bool,
}

/// What to pull, and from where.
#[derive(Debug, Args)]
pub(crate) struct PullOptions {
    /// The folder of a trip, a card or folder with trips, or a board as
    /// ssh://user@host[:port][/path] [default: `board` and `boards` in
    /// station.toml, or the boards that answer on this network]
    #[arg(value_name = "SOURCE")]
    source: Option<String>,
    /// Read the files that are in the library already and compare every byte with the source
    #[arg(long)]
    verify: bool,
    /// Use this configuration file for ssh instead of your usual one
    #[arg(long, value_name = "FILE")]
    ssh_config: Option<PathBuf>,
    /// Refuse a source with more gigabytes of trips than this
    #[arg(long, value_name = "GB", default_value_t = DEFAULT_AT_MOST_GB)]
    at_most_gb: u64,
    /// Give up a board that sends nothing for this many seconds; the next pull continues
    /// where this one stopped
    #[arg(long, value_name = "SECONDS", default_value_t = DEFAULT_PATIENCE_S,
        value_parser = clap::value_parser!(u64).range(1..=86_400))]
    patience: u64,
}

/// What one pull copied.
pub(super) struct PullResults {
    pub(super) reports: Vec<PullReport>,
    /// The first source that could not be pulled.
    pub(super) missed: Option<Error>,
}

/// Files that were not copied and are listed.
const MAX_MISSING_LINES: usize = 20;
/// Twice a month of long drives.
const DEFAULT_AT_MOST_GB: u64 = 64;
/// A card that hangs in the board does so for seconds.
const DEFAULT_PATIENCE_S: u64 = 60;
const GB: u64 = 1_000_000_000;

impl PullOptions {
    /// Pulls from every source that is meant, and prints what was done about each trip.
    /// With `json` prints each event as a line.
    pub(super) fn pull(&self, home: &HomeFolder, json: bool) -> Result<PullResults> {
        let (mut reports, mut missed) = (Vec::new(), None);
        for source in self.sources(home)? {
            match self.pull_one(home, &source, json, &mut reports) {
                Ok(()) => {}
                Err(error) => {
                    if json {
                        print::json_line(&PullEvent::Failed {
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
        let mut reports = Vec::new();
        let request = PullRequest {
            source: path_argument(source),
            library: &home.trips(),
            verify: self.verify,
            ssh_config: self.ssh_config.as_deref(),
            at_most: self.at_most_gb.saturating_mul(GB),
            patience: Duration::from_secs(self.patience),
        };
        let done = pull(&request, &PullDisplay::new(json), &mut reports);
        if !json {
            reports.iter().try_for_each(print_report)?;
            print_missing(&reports)?;
        }
        all.extend(reports);
        done.map_err(|error| with_advice(error, &home.command()))
    }

    /// The source that was given, or the boards of the station file, or those nearby.
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

/// Follows a pull: shows its progress on a terminal, and prints its events as JSON.
pub(super) struct PullDisplay {
    json: bool,
    progress: RefCell<Option<ProgressLine>>,
}

impl PullDisplay {
    pub(super) fn new(json: bool) -> Self {
        Self {
            json,
            progress: RefCell::new(None),
        }
    }
}

impl PullListener for PullDisplay {
    fn advance(&self, bytes: u64) {
        if let Some(progress) = &*self.progress.borrow() {
            progress.add(bytes);
        }
    }

    fn event(&self, event: &PullEvent<'_>) -> io::Result<()> {
        if let PullEvent::Found { bytes, .. } = event {
            let line = ProgressLine::new("copying", *bytes, true);
            self.progress.replace(Some(line));
        }
        if self.json {
            print::json_line(event).map_err(|error| match error.downcast::<io::Error>() {
                Ok(error) => error,
                Err(other) => io::Error::other(other),
            })?;
        }
        Ok(())
    }
}

/// The error of a pull as the command reports it: with the options that help, and `command`,
/// which begins a command for this home.
pub(super) fn with_advice(error: PullError, command: &str) -> Error {
    let message = error.message();
    match error {
        PullError::BadAddress(_) => UsageError(message).into(),
        // Not a failure when the reader of our output went away.
        PullError::Listener(error) => error.into(),
        PullError::TooLarge { total, .. } => anyhow!(
            "{message}. If that is right, pull with --at-most-gb {}",
            total / GB + 1
        ),
        PullError::NoSpace { .. } => anyhow!(
            "{message}. Make room (`{command} keep` shows what can be removed), and pull again"
        ),
        PullError::NoLibrary { .. } => {
            anyhow!("{message}. Use --home DIR to choose another folder")
        }
        PullError::SourceSilent(_) => anyhow!("{message}; raise --patience to wait longer"),
        other => other.into(),
    }
}

/// Verifies some of the trips of the library that are due, and prints those that changed.
/// Returns whether there are any.
pub(super) fn verify_some(home: &HomeFolder) -> Result<bool> {
    let changed = verify_due_trips(home)?;
    for (folder, verified) in &changed {
        print_changed_trip(folder, verified, &home.command())?;
    }
    Ok(!changed.is_empty())
}

/// Prints one line for a trip, and one for each doubt and note.
pub(super) fn print_report(report: &PullReport) -> Result<()> {
    let present = match report.present {
        0 => String::new(),
        present => format!(
            ", {} already in the library",
            count(present, "file", "files")
        ),
    };
    print::line(&format!(
        "{}: {} copied and verified ({}){present}",
        report.trip,
        count(report.copied, "file", "files"),
        byte_size(report.bytes)
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

/// Lists the first files that were not copied, with the reasons.
fn print_missing(reports: &[PullReport]) -> Result<()> {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn where_there_is_no_room_the_way_to_make_some_is_of_this_home() {
        let error = PullError::NoSpace {
            path: "trips".into(),
            free: 1,
            needed: 20_000,
            spare: 3,
        };
        let message = with_advice(error, "jumpseat --home here").to_string();
        assert!(message.contains("`jumpseat --home here keep`"), "{message}");
        assert!(message.contains("20.0 kB are to be copied"), "{message}");
    }
}
