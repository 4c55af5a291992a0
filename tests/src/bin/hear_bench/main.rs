//! Judges the recogniser on a set that `host-tools/speech/model/judge.py` made.
//!
//! `hear_bench FOLDER WEIGHTS [--cache FOLDER]` prints tables as Markdown;
//! `--fit` prints what calibration is to be, `--hour` speed and memory on a long over.

mod calibration;
mod hour;
mod outcome;
mod scores;
mod set;
mod table;

use std::path::PathBuf;

use anyhow::Result;
use clap::Parser;

/// Judges the recogniser on spoken call signs of unseen voices
#[derive(Parser)]
struct RecogniserBench {
    /// The folder with set.json and wav/
    folder: PathBuf,
    /// The ONNX file that model/export.py wrote
    weights: PathBuf,
    /// A sign counts as given in noise or talk from this probability on
    #[arg(long, default_value_t = 0.5)]
    least: f64,
    /// List the files whose sign is not the first reading
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

fn main() -> Result<()> {
    let bench = RecogniserBench::parse();
    let items = set::read(&bench.folder)?;
    if bench.hour {
        println!("{}", hour::heard(&bench.folder, &bench.weights, &items)?);
        return Ok(());
    }
    let source = scores::ScoreSource::new(&bench.weights, bench.cache.as_deref())?;
    let outcomes = outcome::all(&source, &bench.folder, &items)?;
    if bench.fit {
        println!("{:?}", calibration::fit(&items, &outcomes));
    }
    if bench.wrong {
        table::wrong(&items, &outcomes);
    }
    print!("{}", table::markdown(&items, &outcomes, bench.least));
    Ok(())
}
