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
pub struct DriveCommand {
    #[command(subcommand)]
    action: DriveAction,
}

#[derive(Debug, Subcommand)]
enum DriveAction {
    /// Simulates a drive: its script, the trip that the recorder makes of it, and its truth
    Simulate(simulate::ScriptCommand),
    /// Writes the script of a drive only: sound, events and truth
    Script(simulate::ScriptCommand),
    /// Compares a draft with the truth
    Score(score::ScoreCommand),
    /// Scores groups of drives and writes a page with tables and the calibration curve
    Report(report::ReportCommand),
    /// Fits the model of the draft to drives whose truth is known
    Fit(fit::FitCommand),
    /// Makes the demo drive that `jumpseat demo` shows
    Demo(simulate::DemoDriveCommand),
}

impl DriveCommand {
    /// Does what was asked.
    pub fn run(self) -> Result<()> {
        match self.action {
            DriveAction::Simulate(simulate) => simulate.simulate(),
            DriveAction::Script(script) => script.run(),
            DriveAction::Score(score) => score.run(),
            DriveAction::Report(report) => report.run(),
            DriveAction::Fit(fit) => fit.run(),
            DriveAction::Demo(demo) => demo.run(),
        }
    }
}
