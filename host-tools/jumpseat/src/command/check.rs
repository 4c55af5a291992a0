//! `jumpseat check`.

use std::fs;
use std::path::Path;

use anyhow::Result;
use chrono::Utc;
use clap::Args;
use jumpseat_trip::{HealthReport, HealthVerdict, health};
use jumpseat_values::display::{byte_size, count};
use serde::Serialize;

use crate::clock;
use crate::home::HomeFolder;
use crate::outcome::CommandOutcome;
use crate::print;
use crate::progress::ProgressLine;
use crate::verify::{
    ChangedFile, TripVerification, VerificationSchedule, repair_advice, verify, verify_trip,
};

#[derive(Debug, Args)]
#[command(override_usage = "jumpseat check [--json] <TRIP>\n       jumpseat check [--json] --all")]
pub(crate) struct CheckCommand {
    /// The trip: its folder, its name in the library, or only its number
    #[arg(required_unless_present = "all", conflicts_with = "all")]
    trip: Option<String>,
    /// Read every file of the library and compare it with its checksum
    #[arg(long)]
    all: bool,
    /// Print JSON; with --all one line for each trip, and a final one
    #[arg(long)]
    json: bool,
}

/// A trip's health and its checksums.
#[derive(Serialize)]
struct CheckDocument<'a> {
    #[serde(flatten)]
    report: &'a HealthReport,
    checksums: &'a TripVerification,
}

/// What is printed while the whole library is checked.
#[derive(Serialize)]
#[serde(tag = "event", rename_all = "snake_case")]
enum CheckEvent<'a> {
    Trip(&'a TripVerification),
    End {
        trips: usize,
        proven: usize,
        unproven: usize,
        bytes: u64,
        wrong: usize,
    },
}

impl CheckCommand {
    pub(super) fn run(self, home: &HomeFolder) -> Result<CommandOutcome> {
        match &self.trip {
            Some(trip) => self.one(home, trip),
            None => self.all(home),
        }
    }

    fn one(&self, home: &HomeFolder, trip: &str) -> Result<CommandOutcome> {
        let trip = home.open_trip(trip)?;
        let mut report = health(&trip, &clock::timeline(&trip));
        let progress = ProgressLine::new("comparing checksums", folder_bytes(trip.dir()), true);
        let verified = verify_trip(&trip, &|bytes| progress.add(bytes));
        drop(progress);
        if !verified.wrong.is_empty() && report.verdict == HealthVerdict::Good {
            report.verdict = HealthVerdict::Doubtful;
        }
        if self.json {
            print::json(&CheckDocument {
                report: &report,
                checksums: &verified,
            })?;
        } else {
            for line in report.lines() {
                print::line(&line)?;
            }
            print::line(&format!("  checksums {}", checksum_summary(&verified)))?;
            print_changed_files(trip.dir(), &verified.wrong, &home.command())?;
        }
        Ok(CommandOutcome::doubtful(
            report.verdict != HealthVerdict::Good,
        ))
    }

    fn all(&self, home: &HomeFolder) -> Result<CommandOutcome> {
        let folders = home.trip_folders()?;
        let total = folders.iter().map(|folder| folder_bytes(folder)).sum();
        let progress = ProgressLine::new("comparing checksums", total, true);
        let mut schedule = VerificationSchedule::read(home)?;
        let mut sum = TripVerification::default();
        for folder in &folders {
            let verified = verify(folder, &|bytes| progress.add(bytes));
            schedule.record(&verified, Utc::now())?;
            if self.json {
                print::json_line(&CheckEvent::Trip(&verified))?;
            } else if !verified.wrong.is_empty() {
                progress.suspend(|| print_changed_trip(folder, &verified, &home.command()))?;
            }
            sum.proven += verified.proven;
            sum.unproven += verified.unproven;
            sum.bytes += verified.bytes;
            sum.wrong.extend(verified.wrong);
        }
        drop(progress);
        if self.json {
            print::json_line(&CheckEvent::End {
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
                byte_size(sum.bytes),
                checksum_summary(&sum)
            ))?;
        }
        Ok(CommandOutcome::doubtful(!sum.wrong.is_empty()))
    }
}

/// Prints the changed files of a trip, and what to do about them.
pub(super) fn print_changed_trip(
    folder: &Path,
    verified: &TripVerification,
    command: &str,
) -> Result<()> {
    print::line(&format!(
        "{}: {}",
        verified.trip,
        checksum_summary(verified)
    ))?;
    print_changed_files(folder, &verified.wrong, command)
}

/// Changed files of a trip that are printed.
const MAX_CHANGED_LINES: usize = 20;

fn print_changed_files(folder: &Path, wrong: &[ChangedFile], command: &str) -> Result<()> {
    for ChangedFile { file, what } in wrong.iter().take(MAX_CHANGED_LINES) {
        print::line(&format!("  changed   {}/{file}: {what}", folder.display()))?;
    }
    if wrong.len() > MAX_CHANGED_LINES {
        print::line(&format!(
            "  changed   and {} more",
            wrong.len() - MAX_CHANGED_LINES
        ))?;
    }
    if !wrong.is_empty() {
        print::line(&format!("  Next: {}", repair_advice(folder, command)))?;
    }
    Ok(())
}

fn checksum_summary(verified: &TripVerification) -> String {
    let mut text = format!(
        "{} unchanged",
        count(verified.proven, "file is", "files are")
    );
    if verified.unproven > 0 {
        text += &format!(", {} without a checksum", verified.unproven);
    }
    match verified.wrong.len() {
        0 => {}
        wrong => text += &format!(", {wrong} changed or missing"),
    }
    text
}

/// Bytes of the files of a trip, as far as they can be listed; only for the progress.
fn folder_bytes(folder: &Path) -> u64 {
    let folders = [folder.to_owned(), folder.join("audio")];
    let entries = folders.iter().flat_map(fs::read_dir).flatten().flatten();
    let lengths = entries.filter_map(|entry| entry.metadata().ok());
    lengths
        .filter(|data| data.is_file())
        .map(|data| data.len())
        .sum()
}
