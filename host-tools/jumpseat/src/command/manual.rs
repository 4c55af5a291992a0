//! `jumpseat manual`.

use std::path::PathBuf;

use anyhow::Result;
use clap::{Args, CommandFactory as _};
use jumpseat_values::display::count;

use super::Command;
use crate::outcome::Outcome;
use crate::print;

#[derive(Debug, Args)]
pub(crate) struct Manual {
    /// The folder under which your system looks for them, such as ~/.local/share
    #[arg(value_name = "DIR")]
    share: PathBuf,
}

impl Manual {
    pub(super) fn run(self) -> Result<Outcome> {
        let files = jumpseat_manual::write(&Command::command(), &self.share)?;
        print::line(&format!(
            "{} in {}",
            count(files.len(), "file", "files"),
            self.share.display()
        ))?;
        Ok(Outcome::Done)
    }
}
