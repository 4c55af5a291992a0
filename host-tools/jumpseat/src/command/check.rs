//! `jumpseat check`.

use std::fs;
use std::path::Path;

use anyhow::Result;
use chrono::Utc;
use clap::Args;
use jumpseat_trip::{Report, Verdict, health};
use jumpseat_values::display::count;
use serde::Serialize;

use crate::clock;
use crate::home::Home;
use crate::outcome::Outcome;
use crate::print;
use crate::progress::Progress;
use crate::text::bytes;
use crate::verify::{Turns, Verified, Wrong, advice, verify, verify_trip};

#[derive(Debug, Args)]
#[command(override_usage = "jumpseat check [--json] <TRIP>\n       jumpseat check [--json] --all")]
pub(crate) struct Check {
    /// A trip's folder, its name in the library, or its number alone
    #[arg(required_unless_present = "all", conflicts_with = "all")]
    trip: Option<String>,
    /// Reads every file of the library and compares it with its checksum
    #[arg(long)]
    all: bool,
    /// Prints JSON; with --all a line for each trip, and a last one
    #[arg(long)]
    json: bool,
}

/// A trip's health and its checksums.
#[derive(Serialize)]
struct Whole<'a> {
    #[serde(flatten)]
    report: &'a Report,
    checksums: &'a Verified,
}

/// What happens while the whole library is checked.
#[derive(Serialize)]
#[serde(tag = "event", rename_all = "snake_case")]
enum Event<'a> {
    Trip(&'a Verified),
    End {
        trips: usize,
        proven: usize,
        unproven: usize,
        bytes: u64,
        wrong: usize,
    },
}

impl Check {
    pub(super) fn run(self, home: &Home) -> Result<Outcome> {
        match &self.trip {
            Some(trip) => self.one(home, trip),
            None => self.all(home),
        }
    }

    fn one(&self, home: &Home, trip: &str) -> Result<Outcome> {
        let trip = home.open_trip(trip)?;
        let mut report = health(&trip, &clock::timeline(&trip));
        let progress = Progress::new("comparing checksums", size(trip.dir()), true);
        let verified = verify_trip(&trip, &|bytes| progress.add(bytes));
        drop(progress);
        if !verified.wrong.is_empty() && report.verdict == Verdict::Good {
            report.verdict = Verdict::Doubtful;
        }
        if self.json {
            print::json(&Whole {
                report: &report,
                checksums: &verified,
            })?;
        } else {
            for line in report.lines() {
                print::line(&line)?;
            }
            print::line(&format!("  checksums {}", said(&verified)))?;
            tell_wrong(trip.dir(), &verified.wrong, &home.command())?;
        }
        Ok(Outcome::doubtful(report.verdict != Verdict::Good))
    }

    fn all(&self, home: &Home) -> Result<Outcome> {
        let folders = home.trip_folders()?;
        let total = folders.iter().map(|folder| size(folder)).sum();
        let progress = Progress::new("comparing checksums", total, true);
        let mut turns = Turns::read(home)?;
        let mut sum = Verified::default();
        for folder in &folders {
            let verified = verify(folder, &|bytes| progress.add(bytes));
            turns.note(&verified, Utc::now())?;
            if self.json {
                print::json_line(&Event::Trip(&verified))?;
            } else if !verified.wrong.is_empty() {
                progress.aside(|| tell_trip(folder, &verified, &home.command()))?;
            }
            sum.proven += verified.proven;
            sum.unproven += verified.unproven;
            sum.bytes += verified.bytes;
            sum.wrong.extend(verified.wrong);
        }
        drop(progress);
        if self.json {
            print::json_line(&Event::End {
                trips: folders.len(),
                proven: sum.proven,
                unproven: sum.unproven,
                bytes: sum.bytes,
                wrong: sum.wrong.len(),
            })?;
        } else {
            print::line(&format!(
                "{}, {}: {}.",
                count(folders.len(), "trip", "trips"),
                bytes(sum.bytes),
                said(&sum)
            ))?;
        }
        Ok(Outcome::doubtful(!sum.wrong.is_empty()))
    }
}

/// A trip that is not what it was, and what to do about it.
pub(super) fn tell_trip(folder: &Path, verified: &Verified, command: &str) -> Result<()> {
    print::line(&format!("{}: {}", verified.trip, said(verified)))?;
    tell_wrong(folder, &verified.wrong, command)
}

/// At most so many files of a trip are named.
const MOST_LINES: usize = 20;

fn tell_wrong(folder: &Path, wrong: &[Wrong], command: &str) -> Result<()> {
    for Wrong { file, what } in wrong.iter().take(MOST_LINES) {
        print::line(&format!("  changed   {}/{file}: {what}", folder.display()))?;
    }
    if wrong.len() > MOST_LINES {
        print::line(&format!(
            "  changed   and {} more",
            wrong.len() - MOST_LINES
        ))?;
    }
    if !wrong.is_empty() {
        print::line(&format!("  Next: {}", advice(folder, command)))?;
    }
    Ok(())
}

fn said(verified: &Verified) -> String {
    let mut said = format!(
        "{} as copied or recorded",
        count(verified.proven, "file is", "files are")
    );
    if verified.unproven > 0 {
        said += &format!(", {} without a checksum", verified.unproven);
    }
    match verified.wrong.len() {
        0 => {}
        wrong => said += &format!(", {wrong} changed or lost"),
    }
    said
}

/// Bytes of the files of a trip, as far as they can be listed; for the progress only.
fn size(folder: &Path) -> u64 {
    let folders = [folder.to_owned(), folder.join("audio")];
    let entries = folders.iter().flat_map(fs::read_dir).flatten().flatten();
    let lengths = entries.filter_map(|entry| entry.metadata().ok());
    lengths
        .filter(|data| data.is_file())
        .map(|data| data.len())
        .sum()
}
