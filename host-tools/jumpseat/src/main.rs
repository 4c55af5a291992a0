//! The command at home.
#![forbid(unsafe_code)]

mod clock;
mod command;
mod demo;
mod desk;
mod drafting;
mod export;
mod home;
mod import;
mod interrupt;
mod keep;
mod outcome;
mod print;
mod progress;
mod pull;
mod station;
mod system;
mod table;
mod text;
mod twins;

use std::process::ExitCode;

use clap::Parser as _;

fn main() -> ExitCode {
    let outcome = command::Command::parse().run();
    outcome::exit(outcome)
}
