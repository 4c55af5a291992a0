//! `drive score`.

use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, ensure};
use clap::Args;
use serde::de::DeserializeOwned;

use crate::score::{self, ScoreSummary};

#[derive(Debug, Args)]
pub(super) struct ScoreCommand {
    /// For each drive its truth (truth.json), then what `jumpseat draft --json` wrote of it;
    /// a table of all drives comes last
    #[arg(required = true, num_args = 2.., value_names = ["TRUTH", "DRAFT"])]
    files: Vec<PathBuf>,
    /// Prints JSON instead of tables
    #[arg(long)]
    json: bool,
}

impl ScoreCommand {
    pub(super) fn run(self) -> Result<()> {
        let (pairs, rest) = self.files.as_chunks::<2>();
        ensure!(rest.is_empty(), "give a truth and a draft for every drive");
        let mut scores = Vec::new();
        for [truth, draft] in pairs {
            scores.push(score::score(&read(truth)?, &read(draft)?)?);
        }
        let summary = ScoreSummary::from_scores(&scores);
        if self.json {
            let all = serde_json::json!({ "summary": summary, "drives": scores });
            println!("{}", serde_json::to_string_pretty(&all)?);
            return Ok(());
        }
        for score in &scores {
            println!("{score}");
        }
        println!("{summary}");
        Ok(())
    }
}

/// Reads a JSON file.
pub(super) fn read<T: DeserializeOwned>(path: &Path) -> Result<T> {
    let text =
        std::fs::read_to_string(path).with_context(|| format!("cannot read {}", path.display()))?;
    serde_json::from_str(&text)
        .with_context(|| format!("{} is not the JSON that is expected here", path.display()))
}
