//! The command line of `drive`.

mod fit;
mod report;
mod score;
mod simulate;

use anyhow::Result;
use clap::{Parser, Subcommand};

/// Simulates drives, and judges what was made of them.
#[derive(Debug, Parser)]
#[command(name = "drive", version)]
pub struct Command {
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, Subcommand)]
enum Action {
    /// Simulates a drive: its script, the trip that the recorder makes of it, and its truth
    Simulate(simulate::Script),
    /// Writes the script of a drive only: sound, events and truth
    Script(simulate::Script),
    /// Compares a draft with the truth
    Score(score::Score),
    /// Scores groups of drives and writes a page with tables and the calibration curve
    Report(report::Report),
    /// Fits the model of the draft to drives whose truth is known
    Fit(fit::Fit),
    /// Makes the demo drive that `jumpseat demo` shows
    Demo(simulate::Demo),
}

impl Command {
    /// Does what was asked.
    pub fn run(self) -> Result<()> {
        match self.action {
            Action::Simulate(simulate) => simulate.simulate(),
            Action::Script(script) => script.run(),
            Action::Score(score) => score.run(),
            Action::Report(report) => report.run(),
            Action::Fit(fit) => fit.run(),
            Action::Demo(demo) => demo.run(),
        }
    }
}
