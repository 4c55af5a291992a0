//! The `jumpseat-recorder` command.

mod cli;

use std::process::ExitCode;

use clap::Parser;

fn main() -> ExitCode {
    match cli::RecorderCli::parse().run() {
        Ok(code) => code,
        Err(error) => {
            eprintln!("jumpseat-recorder: {error}");
            cli::exit_code_of(&error)
        }
    }
}
