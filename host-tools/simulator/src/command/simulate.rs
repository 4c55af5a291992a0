//! `drive script`, `drive simulate` and `drive demo`.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, ensure};
use clap::Args;

use crate::copy_folder;
use crate::plan::Plan;
use crate::progress::Progress;
use crate::scenario::{self, Difficulty, Scenario, Wish};
use crate::{pack, script, through_recorder};

/// Which drive.
#[derive(Debug, Args)]
pub(super) struct Which {
    /// Makes the noise, the stations after the first two and the small accidents
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Length in hours; the first drive of two contacts when left out
    #[arg(long, value_parser = hours)]
    hours: Option<f64>,
    /// Contacts an hour
    #[arg(long, default_value_t = 8.0, value_parser = rate, requires = "hours")]
    contacts_per_hour: f64,
    /// How hard it is to hear
    #[arg(long, value_enum, default_value = "road", requires = "hours")]
    difficulty: Difficulty,
    /// Word recordings: a folder with alfa.wav to zulu.wav and 0.wav to 9.wav, or a
    /// folder of such folders, one a speaker
    #[arg(long, value_name = "DIR", requires = "hours")]
    voices: Option<PathBuf>,
    /// The operator never presses the mark button
    #[arg(long, requires = "hours")]
    without_marks: bool,
    /// The short drive of the live test: a quick fix, marker tones
    #[arg(long, conflicts_with = "hours")]
    live: bool,
}

impl Which {
    fn scenario(&self) -> Result<Scenario> {
        Ok(match self.hours {
            Some(hours) => scenario::drive(&Wish {
                seed: self.seed,
                hours,
                contacts_per_hour: self.contacts_per_hour,
                difficulty: self.difficulty,
                voices: speakers(self.voices.as_deref())?,
                marks: !self.without_marks,
            }),
            None if self.live => scenario::live(self.seed),
            None => scenario::demo(self.seed),
        })
    }

    fn plan(&self) -> Result<Plan> {
        let mut progress = Progress::of("speaking");
        Ok(Plan::of(self.scenario()?, &mut |fraction| {
            progress.at(fraction)
        })?)
    }
}

/// The folders of word recordings in `folder`, or that folder itself.
fn speakers(folder: Option<&Path>) -> Result<Vec<PathBuf>> {
    let Some(folder) = folder else {
        return Ok(Vec::new());
    };
    let what = || format!("cannot read the voices in {}", folder.display());
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).with_context(what)? {
        let path = entry.with_context(what)?.path();
        if path.is_dir() {
            found.push(path);
        }
    }
    found.sort();
    if found.is_empty() {
        found.push(folder.to_owned());
    }
    Ok(found)
}

fn rate(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(rate) if (0.1..=30.0).contains(&rate) => Ok(rate),
        _ => Err("give 0.1 to 30 contacts an hour".into()),
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
    /// Writes the script only.
    pub(super) fn run(self) -> Result<()> {
        let plan = self.which.plan()?;
        write_script(&plan, &self.out)?;
        println!(
            "{}: the script of a drive of {:.0} s",
            self.out.display(),
            plan.length_s
        );
        Ok(())
    }

    /// Writes the script, and the trip that the recorder makes of it.
    pub(super) fn simulate(self) -> Result<()> {
        let plan = self.which.plan()?;
        write_script(&plan, &self.out)?;
        let recorded = through_recorder::record(&self.out, &plan.scenario.station, &self.out)?;
        println!(
            "{}: a trip of {:.0} s",
            recorded.trip.display(),
            plan.length_s
        );
        println!("{}: its truth", self.out.join(script::TRUTH).display());
        Ok(())
    }
}

#[derive(Debug, Args)]
pub(super) struct Demo {
    /// The folder to make; a trip that is already there is replaced
    #[arg(long)]
    out: PathBuf,
    /// Most bytes that the packed trip may have
    #[arg(long, default_value_t = 4_000_000)]
    most_bytes: u64,
}

impl Demo {
    /// Makes the demo drive: a packed trip and its truth.
    pub(super) fn run(self) -> Result<()> {
        let plan = speak(scenario::demo(1))?;
        let work = tempfile::tempdir().context("cannot make a temporary folder")?;
        write_script(&plan, work.path())?;
        let card = work.path().join("card");
        let trip = through_recorder::record(work.path(), &plan.scenario.station, &card)?.trip;
        let mut progress = Progress::of("packing");
        let (before, after) = pack::pack(&trip, &mut |fraction| progress.at(fraction))?;
        ensure!(
            after <= self.most_bytes,
            "the packed trip has {after} bytes, more than {}",
            self.most_bytes
        );
        let name = trip.file_name().context("the trip has no name")?;
        let to = self.out.join(name);
        if to.exists() {
            fs::remove_dir_all(&to).with_context(|| format!("cannot replace {}", to.display()))?;
        }
        copy_folder(&trip, &to)?;
        let truth = self.out.join(script::TRUTH);
        fs::copy(work.path().join(script::TRUTH), &truth)
            .with_context(|| format!("cannot write {}", truth.display()))?;
        println!(
            "{}: {:.0} s, {before} bytes of sound packed to {after}",
            to.display(),
            plan.length_s
        );
        Ok(())
    }
}

fn speak(scenario: Scenario) -> Result<Plan> {
    let mut progress = Progress::of("speaking");
    Ok(Plan::of(scenario, &mut |fraction| progress.at(fraction))?)
}

fn write_script(plan: &Plan, folder: &Path) -> Result<()> {
    let mut progress = Progress::of("mixing");
    Ok(script::write(plan, folder, &mut |fraction| {
        progress.at(fraction)
    })?)
}
