//! The command line of `drive`.

use std::path::PathBuf;

use anyhow::Result;
use clap::{Parser, Subcommand};

use crate::plan::Plan;
use crate::scenario::{self, Scenario};
use crate::script;

/// Simulates drives, plays them, and judges what was made of them.
#[derive(Debug, Parser)]
#[command(name = "drive", version)]
pub struct Command {
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, Subcommand)]
enum Action {
    /// Writes the script of a drive: sound, events and truth.
    Script {
        /// Makes the noise and the small accidents.
        #[arg(long, default_value_t = 1)]
        seed: u64,
        /// Length in hours; the first drive when left out.
        #[arg(long)]
        hours: Option<f64>,
        /// The folder to make.
        #[arg(long)]
        out: PathBuf,
    },
}

impl Command {
    /// Does what was asked.
    pub fn run(self) -> Result<()> {
        match self.action {
            Action::Script { seed, hours, out } => {
                let scenario = scenario_of(seed, hours);
                let plan = Plan::of(scenario, &mut |_| ())?;
                script::write(&plan, &out, &mut |_| ())?;
                println!("{}: {:.0} s", out.display(), plan.length_s);
                Ok(())
            }
        }
    }
}

fn scenario_of(seed: u64, hours: Option<f64>) -> Scenario {
    match hours {
        Some(hours) => scenario::of_hours(seed, hours),
        None => scenario::demo(seed),
    }
}
