//! `drive`: simulates drives, plays them, and judges what was made of them.

use std::process::ExitCode;

use clap::Parser as _;
use jumpseat_tests::command::Command;

fn main() -> ExitCode {
    match Command::parse().run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("drive: {error:#}");
            ExitCode::FAILURE
        }
    }
}
