//! The command line, and what it prints.

use std::path::PathBuf;

use anyhow::Result;
use clap::Parser;

use crate::{calibration, hour, outcome, scores, set, table};

/// Judges the recogniser on spoken call signs of unseen voices
#[derive(Parser)]
pub(crate) struct RecogniserBench {
    /// The folder with set.json and wav/
    folder: PathBuf,
    /// The ONNX file that model/export.py wrote
    weights: PathBuf,
    /// A sign counts as given in noise or talk from this probability on
    #[arg(long, default_value_t = 0.5)]
    least: f64,
    /// List the files whose sign is not the first reading, and signs that nobody said
    #[arg(long)]
    wrong: bool,
    /// Hear the talk of the set as one over an hour long: speed and memory only
    #[arg(long)]
    hour: bool,
    /// Fit the map of host-tools/speech/src/calibration.rs
    #[arg(long)]
    fit: bool,
    /// Keep the model's scores in this folder, so that only the decoder runs the next time
    #[arg(long, value_name = "FOLDER")]
    cache: Option<PathBuf>,
}

impl RecogniserBench {
    /// Does what was asked, and prints it.
    pub(crate) fn run(self) -> Result<()> {
        let items = set::read(&self.folder)?;
        if self.hour {
            println!("{}", hour::heard(&self.folder, &self.weights, &items)?);
            return Ok(());
        }
        let source = scores::ScoreSource::new(&self.weights, self.cache.as_deref())?;
        let outcomes = outcome::all(&source, &self.folder, &items)?;
        if self.fit {
            println!("{:?}", calibration::fit(&items, &outcomes));
        }
        if self.wrong {
            table::wrong(&items, &outcomes, self.least);
        }
        print!("{}", table::markdown(&items, &outcomes, self.least));
        Ok(())
    }
}
