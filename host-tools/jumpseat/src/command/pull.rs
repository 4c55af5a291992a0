//! `jumpseat pull`.

use std::path::PathBuf;
use std::time::Duration;

use anyhow::{Error, Result};
use clap::Args;
use jumpseat_values::display::count;

use super::check::tell_trip;
use crate::home::Home;
use crate::outcome::{Misuse, Outcome, words};
use crate::print;
use crate::progress::waiting;
use crate::pull::{Event, Missing, Report, Request, boards_nearby, pull};
use crate::text::bytes;
use crate::verify::take_turns;

#[derive(Debug, Args)]
pub(crate) struct Pull {
    #[command(flatten)]
    options: Options,
    /// Prints what happens as lines of JSON: found, progress, file, trip, end or failed
    #[arg(long)]
    json: bool,
}

/// What is pulled from where.
#[derive(Debug, Args)]
pub(crate) struct Options {
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
    #[arg(long, value_name = "GB", default_value_t = USUAL_MOST_GB)]
    at_most_gb: u64,
    /// A board that says nothing for so many seconds is given up; what came of it
    /// stays for the next pull
    #[arg(long, value_name = "SECONDS", default_value_t = USUAL_PATIENCE_S,
        value_parser = clap::value_parser!(u64).range(1..=86_400))]
    patience: u64,
}

/// What one pull brought.
pub(super) struct Pulled {
    pub(super) reports: Vec<Report>,
    /// The first source that could not be pulled.
    pub(super) missed: Option<Error>,
}

/// Files that did not come and are listed.
const MOST_MISSING: usize = 20;
/// Twice a month of long drives.
const USUAL_MOST_GB: u64 = 64;
/// A card that hangs in the board does so for seconds.
const USUAL_PATIENCE_S: u64 = 60;
const GB: u64 = 1_000_000_000;

impl Options {
    /// Pulls from every source that is meant, and says what was done about each trip.
    /// With `json` each event is a line.
    pub(super) fn pull(&self, home: &Home, json: bool) -> Result<Pulled> {
        let (mut reports, mut missed) = (Vec::new(), None);
        for source in self.sources(home)? {
            match self.pull_one(home, &source, json, &mut reports) {
                Ok(()) => {}
                Err(error) => {
                    if json {
                        tell_line(&Event::Failed {
                            error: &words(&error),
                        })?;
                    } else if missed.is_some() {
                        print::aside(&format!("jumpseat: {}", words(&error)));
                    }
                    missed = missed.or(Some(error));
                }
            }
        }
        Ok(Pulled { reports, missed })
    }

    fn pull_one(&self, home: &Home, source: &str, json: bool, all: &mut Vec<Report>) -> Result<()> {
        let silent = |_: &Event<'_>| Ok(());
        let mut reports = Vec::new();
        let done = pull(
            home,
            &Request {
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
            reports.iter().try_for_each(say)?;
            say_missing(&reports)?;
        }
        all.extend(reports);
        done
    }

    /// What was given, or the boards of the station file.
    fn sources(&self, home: &Home) -> Result<Vec<String>> {
        if let Some(source) = &self.source {
            return Ok(vec![source.clone()]);
        }
        let mut boards = home.station()?.boards();
        if boards.is_empty() {
            waiting("looking for boards on this network");
            boards = boards_nearby()?;
        }
        if boards.is_empty() {
            return Err(Misuse(format!(
                "no board answers on this network. Say where the trips are: a card's folder or \
                 ssh://user@host, or write `board = \"ssh://user@host\"` into {}",
                home.dir().join("station.toml").display()
            ))
            .into());
        }
        Ok(boards)
    }
}

impl Pull {
    pub(super) fn run(self, home: &Home) -> Result<Outcome> {
        let Pulled { reports, missed } = self.options.pull(home, self.json)?;
        let doubts = reports.iter().any(Report::is_doubtful);
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
            return Ok(Outcome::doubtful(doubts));
        }
        if new.is_empty() {
            print::line("Nothing new.")?;
        }
        Ok(Outcome::doubtful(doubts | verify_some(home)?))
    }
}

/// Verifies the trips of the library whose turn it is, as long as nobody minds the wait;
/// says which are not what they were. Whether there are such.
pub(super) fn verify_some(home: &Home) -> Result<bool> {
    let wrong = take_turns(home)?;
    for (folder, verified) in &wrong {
        tell_trip(folder, verified, &home.command())?;
    }
    Ok(!wrong.is_empty())
}

/// One event, one line.
fn tell_line(event: &Event<'_>) -> Result<()> {
    print::json_line(event)
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
fn say_missing(reports: &[Report]) -> Result<()> {
    let missing: Vec<&Missing> = reports.iter().flat_map(|report| &report.missing).collect();
    if missing.is_empty() {
        return Ok(());
    }
    print::line("Not copied; the next pull tries again:")?;
    for Missing { trip, file, error } in missing.iter().take(MOST_MISSING) {
        print::line(&format!("  {trip}/{file}: {error}"))?;
    }
    if let Some(more @ 1..) = missing.len().checked_sub(MOST_MISSING) {
        print::line(&format!("  and {more} more; --json lists all"))?;
    }
    Ok(())
}
