//! The command line of `drive`.

mod fit;
mod report;
mod score;
mod simulate;

use anyhow::Result;
use clap::{Parser, Subcommand};

/// Simulates drives whose truth is known, scores drafts of them, and fits the draft's model
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
    /// Writes only the script of a drive: sound, events and truth
    Script(simulate::ScriptCommand),
    /// Compares drafts with the truth
    Score(score::ScoreCommand),
    /// Scores groups of drives and writes a page with tables and the calibration curve
    Report(report::ReportCommand),
    /// Fits the model of the draft to drives whose truth is known
    Fit(fit::FitCommand),
    /// Makes the demo drive that `jumpseat demo` shows
    Demo(simulate::DemoDriveCommand),
}

impl DriveCommand {
    /// Runs the chosen command.
    ///
    /// # Errors
    /// What went wrong, with the path of the file or folder.
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
