//! Judges the recogniser on a set that `host-tools/hear/model/judge.py` made.
//!
//! `hear_bench FOLDER [--least DRAFT_PROBABILITY]` prints the tables of MODEL.md as Markdown.

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
    /// A sign counts as given in noise or talk from this probability on
    #[arg(long, default_value_t = 0.5)]
    least: f64,
}

fn main() -> Result<()> {
    let bench = Bench::parse();
    let items = set::read(&bench.folder)?;
    let outcomes = outcome::all(&bench.folder, &items)?;
    print!("{}", table::markdown(&items, &outcomes, bench.least));
    Ok(())
}
