//! The command at home.
#![forbid(unsafe_code)]
// Everything that is printed goes through `print`.
#![deny(clippy::print_stdout, clippy::print_stderr)]

mod clock;
mod command;
mod demo;
mod drafting;
mod duplicates;
mod export;
mod home;
mod import;
mod interrupt;
mod keep;
mod link_file;
mod outcome;
mod print;
mod progress;
mod review_home;
mod station;
mod system;
mod table;
mod transcripts;
mod verify;

use std::process::ExitCode;

fn main() -> ExitCode {
    let outcome = command::CommandLine::parse_arguments().run();
    outcome::exit(outcome)
}
