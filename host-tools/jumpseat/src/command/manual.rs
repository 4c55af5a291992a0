//! `jumpseat manual`.

use std::path::PathBuf;

use anyhow::Result;
use clap::{Args, Command};
use jumpseat_values::display::count;

use crate::outcome::CommandOutcome;
use crate::print;

#[derive(Debug, Args)]
pub(crate) struct ManualCommand {
    /// The folder in which your system looks for them, such as ~/.local/share
    #[arg(value_name = "DIR")]
    share: PathBuf,
}

impl ManualCommand {
    pub(super) fn run(self, command: &Command) -> Result<CommandOutcome> {
        let files = jumpseat_manual::write(command, &self.share)?;
        print::line(&format!(
            "{} in {}",
            count(files.len(), "file", "files"),
            self.share.display()
        ))?;
        Ok(CommandOutcome::Done)
    }
}
