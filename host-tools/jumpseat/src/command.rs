//! The command line, with one file for each subcommand.

mod arguments;
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

use anyhow::Result;
use clap::{CommandFactory as _, Parser, Subcommand};

use crate::home::HomeFolder;
use crate::outcome::CommandOutcome;
use crate::print::visible;

/// Turn a recorded drive into a station log.
///
/// `jumpseat demo` shows every step with a simulated drive. Most evenings need only
/// `jumpseat arrive`.
///
/// Exit codes: 0 done, 1 failed, 2 wrong usage, 3 done, with doubts for a person to look at.
#[derive(Debug, Parser)]
#[command(name = "jumpseat", version)]
pub(crate) struct CommandLine {
    /// The folder of the library, the logbook and station.toml [default: the system's place for
    /// application data]
    #[arg(long, global = true, value_name = "DIR")]
    home: Option<PathBuf>,
    #[command(subcommand)]
    action: CommandAction,
}

#[derive(Debug, Subcommand)]
enum CommandAction {
    /// Unpack a simulated drive and go through every step with it
    Demo(demo::DemoCommand),
    /// Copy new trips from a card, a folder or a board into the library, and verify them
    Pull(pull::PullCommand),
    /// Pull, draft what is new and open the review page
    Arrive(arrive::ArriveCommand),
    /// Find the contacts of a trip and write them into the logbook as drafts
    Draft(draft::DraftCommand),
    /// Print what is said in a sound file: words, call signs, reports, names
    Hear(hear::HearCommand),
    /// Check a trip for damage: files, journal, time, sound
    Check(check::CheckCommand),
    /// List the trips of the library
    Trips(trips::TripsCommand),
    /// List the logbook
    Log(log::LogCommand),
    /// Open the page on which you listen to drafts and confirm them
    Review(review::ReviewCommand),
    /// Confirm a draft with what you heard, which makes it a contact
    Confirm(Box<confirm::ConfirmCommand>),
    /// Write confirmed contacts to a file for another program
    Export(export::ExportCommand),
    /// Import your existing log from ADIF files or our own CSV
    Import(import::ImportCommand),
    /// Set how long complete trips are kept, and free disk space
    Keep(keep::KeepCommand),
    /// Undo what was done in the logbook
    Undo(undo::UndoCommand),
    /// Write man pages and shell completions into a folder
    Manual(manual::ManualCommand),
}

impl CommandLine {
    /// Reads the command line. Prints help or what is wrong with it, and ends the program.
    pub(crate) fn parse_arguments() -> Self {
        Self::try_parse().unwrap_or_else(|error| {
            // The message repeats an argument, which may be the name of a file on a card.
            let given = std::env::args_os();
            let given = given.map(|word| visible(&word.to_string_lossy()).into_owned());
            match Self::try_parse_from(given) {
                Err(shown) if shown.kind() == error.kind() => shown.exit(),
                _ => error.exit(),
            }
        })
    }

    /// Runs the subcommand. If the logbook is lost or damaged, the error says how to restore a
    /// backup.
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
            CommandAction::Manual(manual) => manual.run(&Self::command()),
        }
    }
}
