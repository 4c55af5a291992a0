//! The command line; one file a subcommand.

mod arrive;
mod check;
mod confirm;
mod demo;
mod draft;
mod entries;
mod export;
mod hear;
mod import;
mod keep;
mod log;
mod manual;
mod pull;
pub(crate) mod review;
mod trips;
mod undo;

use std::path::PathBuf;
use std::str::FromStr;

use anyhow::Result;
use chrono::NaiveDate;
use clap::{Parser, Subcommand};

use crate::home::HomeFolder;
use crate::outcome::{CommandOutcome, UsageError};
use crate::print::visible;

/// Turns a recorded drive into a station log.
///
/// `jumpseat demo` shows all of it with a simulated drive; most evenings need only
/// `jumpseat arrive`.
///
/// Exit codes: 0 done, 1 failed, 2 used wrongly, 3 done with doubts that need a person.
#[derive(Debug, Parser)]
#[command(name = "jumpseat", version)]
pub(crate) struct CommandLine {
    /// Folder of the library, the logbook and station.toml [default: the system's place for an
    /// application's data]
    #[arg(long, global = true, value_name = "DIR")]
    home: Option<PathBuf>,
    #[command(subcommand)]
    action: CommandAction,
}

#[derive(Debug, Subcommand)]
enum CommandAction {
    /// Unpacks a simulated drive and goes through every step with it
    Demo(demo::DemoCommand),
    /// Copies new trips from a card, a folder or a board into the library, verified
    Pull(pull::PullCommand),
    /// Pulls, drafts what is new and opens the review page
    Arrive(arrive::ArriveCommand),
    /// Finds the contacts of a trip and writes them into the logbook as drafts
    Draft(draft::DraftCommand),
    /// Prints what is said in a sound file: words, call signs, reports, names
    Hear(hear::HearCommand),
    /// Says how whole a trip is: files, journal, time, sound
    Check(check::CheckCommand),
    /// Lists the trips of the library
    Trips(trips::TripsCommand),
    /// Lists the logbook
    Log(log::LogCommand),
    /// Opens the page where drafts are heard and confirmed
    Review(review::ReviewCommand),
    /// Writes down what a person heard: makes a draft a contact
    Confirm(Box<confirm::ConfirmCommand>),
    /// Writes confirmed contacts for another program
    Export(export::ExportCommand),
    /// Takes over the log that you have already, from ADIF files or our own table
    Import(import::ImportCommand),
    /// Sets how long whole trips stay, and makes room
    Keep(keep::KeepCommand),
    /// Takes back what was done in the logbook
    Undo(undo::UndoCommand),
    /// Writes man pages and shell completions into a folder
    Manual(manual::ManualCommand),
}

impl CommandLine {
    /// The command line; help and what is wrong with it are printed, and the program ends.
    pub(crate) fn parse_arguments() -> Self {
        Self::try_parse().unwrap_or_else(|error| {
            // Its words repeat what was given, such as the name of a file on a card.
            let given = std::env::args_os();
            let given = given.map(|word| visible(&word.to_string_lossy()).into_owned());
            match Self::try_parse_from(given) {
                Err(shown) if shown.kind() == error.kind() => shown.exit(),
                _ => error.exit(),
            }
        })
    }

    /// Does what was asked. Where the logbook is lost or damaged, its error says how a
    /// backup is restored.
    pub(crate) fn run(self) -> Result<CommandOutcome> {
        let home = self.home.clone();
        self.act().map_err(|error| match HomeFolder::new(home) {
            Ok(home) => home.with_advice(error),
            Err(_) => error,
        })
    }

    fn act(self) -> Result<CommandOutcome> {
        let home = self.home;
        match self.action {
            CommandAction::Demo(demo) => demo.run(),
            CommandAction::Pull(pull) => pull.run(&HomeFolder::new(home)?),
            CommandAction::Arrive(arrive) => arrive.run(&HomeFolder::new(home)?),
            CommandAction::Draft(draft) => draft.run(&HomeFolder::new(home)?),
            CommandAction::Hear(hear) => hear.run(),
            CommandAction::Check(check) => check.run(&HomeFolder::new(home)?),
            CommandAction::Trips(trips) => trips.run(&HomeFolder::new(home)?),
            CommandAction::Log(log) => log.run(&HomeFolder::new(home)?),
            CommandAction::Review(review) => review.run(&HomeFolder::new(home)?),
            CommandAction::Confirm(confirm) => confirm.run(&HomeFolder::new(home)?),
            CommandAction::Export(export) => export.run(&HomeFolder::new(home)?),
            CommandAction::Import(import) => import.run(&HomeFolder::new(home)?),
            CommandAction::Keep(keep) => keep.run(&HomeFolder::new(home)?),
            CommandAction::Undo(undo) => undo.run(&HomeFolder::new(home)?),
            CommandAction::Manual(manual) => manual.run(),
        }
    }
}

/// A whole number as a person gives it.
fn whole_number<T: FromStr>(text: &str) -> Result<T, String> {
    text.parse()
        .map_err(|_| "this is no whole number, such as 12".to_owned())
}

/// A band as a person gives it.
fn band(text: &str) -> Result<String, String> {
    jumpseat_place::band::typed_name(text)
        .ok_or_else(|| "a band is named by its wavelength, such as 20m, 2m or 70cm".to_owned())
}

/// Days from one to another.
fn in_order(from: Option<NaiveDate>, to: Option<NaiveDate>) -> Result<(), UsageError> {
    match (from, to) {
        (Some(from), Some(to)) if to < from => Err(UsageError(format!(
            "--to {to} is before --from {from}; exchange the two"
        ))),
        _ => Ok(()),
    }
}

/// A day as a person gives it.
fn date(text: &str) -> Result<NaiveDate, String> {
    text.parse()
        .map_err(|_| "a date is a year, a month and a day, such as 2026-05-14".to_owned())
}
