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
/// Exit codes: 0 done, 1 failed, 2 usage error, 3 done, but something needs your attention.
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
    /// Write down what is said in a sound file, with call signs, reports and names
    Hear(hear::HearCommand),
    /// Report how complete a trip is: files, journal, time, sound
    Check(check::CheckCommand),
    /// List the trips of the library
    Trips(trips::TripsCommand),
    /// List the logbook
    ///
    /// Prints entries as a table. The logbook is backed up automatically before the first change of
    /// each day (UTC); seven daily and four weekly backups are kept.
    Log(log::LogCommand),
    /// Open the page on which you listen to drafts and confirm them
    Review(review::ReviewCommand),
    /// Confirm a draft as a contact, with what you heard
    Confirm(Box<confirm::ConfirmCommand>),
    /// Write confirmed contacts to a file for another program
    ///
    /// Only confirmed contacts are written. Without --trip, --from, --to, --call, --band, --station
    /// or --all, these are the contacts not yet exported in this format.
    Export(export::ExportCommand),
    /// Import your existing log from ADIF files or our own CSV
    ///
    /// Reads .adi and .adx files of any program, and our own .csv. A record that cannot be read is
    /// reported with its line, and the others are imported. Importing a file twice changes nothing.
    Import(import::ImportCommand),
    /// Set how long complete trips are kept, and free disk space
    ///
    /// Of older trips, only the sound of confirmed contacts is kept, with a minute on either side, as
    /// FLAC. Without --now, the command only shows what it would remove. A trip with an undecided entry is
    /// kept complete, and without a setting every trip is.
    Keep(keep::KeepCommand),
    /// Undo what was done in the logbook
    ///
    /// Undoes the newest action, or the one with the number: an import, a draft, a confirmation, a
    /// correction, or an undo.
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
