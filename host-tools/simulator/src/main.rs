//! `drive`: simulates drives, and judges what was made of them.

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
