//! Judges the recogniser on a set that `host-tools/speech/model/judge.py` made.
//!
//! `hear_bench FOLDER WEIGHTS [--cache FOLDER]` prints tables as Markdown;
//! `--fit` prints what calibration is to be, `--hour` speed and memory on a long over.

mod calibration;
mod hour;
mod options;
mod outcome;
mod scores;
mod set;
mod table;

use anyhow::Result;
use clap::Parser as _;
use options::RecogniserBench;

fn main() -> Result<()> {
    RecogniserBench::parse().run()
}
