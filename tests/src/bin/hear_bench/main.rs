//! Judges the recogniser on a set that `host-tools/hear/model/judge.py` made.
//!
//! `hear_bench FOLDER WEIGHTS [--least PROBABILITY]` prints tables as Markdown.

mod outcome;
mod set;
mod table;

use std::path::PathBuf;

use anyhow::Result;
use clap::Parser;

/// Judges the recogniser on spoken call signs of unseen voices
#[derive(Parser)]
struct Bench {
    /// The folder with set.json and wav/
    folder: PathBuf,
    /// The ONNX file that model/export.py wrote
    weights: PathBuf,
    /// A sign counts as given in noise or talk from this probability on
    #[arg(long, default_value_t = 0.5)]
    least: f64,
}

fn main() -> Result<()> {
    let bench = Bench::parse();
    let items = set::read(&bench.folder)?;
    let outcomes = outcome::all(&bench.folder, &bench.weights, &items)?;
    print!("{}", table::markdown(&items, &outcomes, bench.least));
    Ok(())
}
