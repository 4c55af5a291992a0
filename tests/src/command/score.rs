//! `drive score`.

use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result};
use clap::Args;
use serde::de::DeserializeOwned;

use crate::score;

#[derive(Debug, Args)]
pub(super) struct Score {
    /// The truth of a drive (truth.json)
    truth: PathBuf,
    /// What `jumpseat draft --json` wrote of it
    draft: PathBuf,
    /// Print JSON instead of a table
    #[arg(long)]
    json: bool,
}

impl Score {
    pub(super) fn run(self) -> Result<()> {
        let score = score::score(&read(&self.truth)?, &read(&self.draft)?)?;
        if self.json {
            println!("{}", serde_json::to_string_pretty(&score)?);
        } else {
            println!("{score}");
        }
        Ok(())
    }
}

fn read<T: DeserializeOwned>(path: &Path) -> Result<T> {
    let text =
        std::fs::read_to_string(path).with_context(|| format!("cannot read {}", path.display()))?;
    serde_json::from_str(&text)
        .with_context(|| format!("{} is not what it should be", path.display()))
}
