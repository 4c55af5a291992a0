//! `drive`: simulates drives, scores drafts of them, and fits the draft's model.

use std::process::ExitCode;

use clap::Parser as _;
use jumpseat_simulator::command::DriveCommand;

fn main() -> ExitCode {
    match DriveCommand::parse().run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("drive: {error:#}");
            ExitCode::FAILURE
        }
    }
}
