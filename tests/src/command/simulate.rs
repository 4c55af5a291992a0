//! `drive script`.

use std::path::PathBuf;

use anyhow::Result;
use clap::Args;

use super::progress::Progress;
use crate::plan::Plan;
use crate::scenario::{self, Scenario};
use crate::script;

/// Which drive.
#[derive(Debug, Args)]
pub(super) struct Which {
    /// Makes the noise, the stations after the first two and the small accidents
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Length in hours; the first drive of two contacts when left out
    #[arg(long, value_parser = hours)]
    hours: Option<f64>,
    /// The short drive of the live test: a quick fix, marker tones
    #[arg(long, conflicts_with = "hours")]
    live: bool,
}

impl Which {
    fn scenario(&self) -> Scenario {
        match self.hours {
            Some(hours) => scenario::of_hours(self.seed, hours),
            None if self.live => scenario::live(self.seed),
            None => scenario::demo(self.seed),
        }
    }

    fn plan(&self) -> Result<Plan> {
        let mut progress = Progress::of("speaking");
        Ok(Plan::of(self.scenario(), &mut |fraction| {
            progress.at(fraction)
        })?)
    }
}

fn hours(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(hours) if (0.05..=24.0).contains(&hours) => Ok(hours),
        _ => Err("give 0.05 to 24 hours".into()),
    }
}

#[derive(Debug, Args)]
pub(super) struct Script {
    #[command(flatten)]
    which: Which,
    /// The folder to make
    #[arg(long)]
    out: PathBuf,
}

impl Script {
    pub(super) fn run(self) -> Result<()> {
        let plan = self.which.plan()?;
        let mut progress = Progress::of("mixing");
        script::write(&plan, &self.out, &mut |fraction| progress.at(fraction))?;
        println!("{}: a drive of {:.0} s", self.out.display(), plan.length_s);
        Ok(())
    }
}
