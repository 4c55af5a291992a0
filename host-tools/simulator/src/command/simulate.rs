//! `drive script`, `drive simulate` and `drive demo`.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, ensure};
use clap::Args;

use crate::copy_folder::copy_folder;
use crate::plan::DrivePlan;
use crate::progress::DriveProgress;
use crate::random::SeededRandom;
use crate::scenario::{self, DriveDifficulty, DriveScenario, DriveWish, VoiceFamily};
use crate::written::{
    VoiceSource, WrittenConversation, WrittenDriveWish, read_sheets, written_drive,
};
use crate::{pack, script, trip_recording};

/// Which drive is wanted.
#[derive(Debug, Args)]
pub(super) struct DriveSelection {
    /// Seed of all that is random: conversations, stations, noise, small accidents
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Length in hours; without it, the demo drive of two contacts is made
    #[arg(long, value_parser = hours)]
    hours: Option<f64>,
    /// Contacts an hour
    #[arg(long, default_value_t = 8.0, value_parser = rate, requires = "hours")]
    contacts_per_hour: f64,
    /// How hard the signals are to hear
    #[arg(long, value_enum, default_value = "road")]
    difficulty: DriveDifficulty,
    /// Word recordings: a folder with alfa.wav to zulu.wav and 0.wav to 9.wav, or a
    /// folder with one such folder for each speaker
    #[arg(long, value_name = "DIR", requires = "hours")]
    voices: Option<PathBuf>,
    /// The operator never presses the mark button
    #[arg(long)]
    without_marks: bool,
    /// Written conversations, in the place of made-up ones: a folder of .txt files,
    /// or of folders of them
    #[arg(long, value_name = "DIR", conflicts_with_all = ["hours", "live"])]
    conversations: Option<PathBuf>,
    /// Every so many of the conversations, in an order that the seed draws: "3/20" takes the
    /// third share of twenty
    #[arg(long, value_name = "K/N", value_parser = share, default_value = "1/1", requires = "conversations")]
    share: (usize, usize),
    /// Families of voices: espeak, flite, festival, pico, and with their places piper=VOICE.onnx
    /// and words=DIR
    #[arg(long, value_name = "FAMILY", value_delimiter = ',', default_value = "espeak", value_parser = family)]
    families: Vec<VoiceSource>,
    /// Makes the short drive of the live test, with an early position fix and marker tones
    #[arg(long, conflicts_with = "hours")]
    live: bool,
}

impl DriveSelection {
    fn scenario(&self) -> Result<DriveScenario> {
        if let Some(folder) = &self.conversations {
            return Ok(written_drive(&WrittenDriveWish {
                seed: self.seed,
                conversations: &shared_out(folder, self.share)?,
                difficulty: self.difficulty,
                families: &self.families,
                marks: !self.without_marks,
            })?);
        }
        Ok(match self.hours {
            Some(hours) => scenario::drive(&DriveWish {
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

    fn plan(&self) -> Result<DrivePlan> {
        let mut progress = DriveProgress::new("speaking");
        Ok(DrivePlan::lay_out(self.scenario()?, &mut |fraction| {
            progress.at(fraction)
        })?)
    }
}

/// The share `number` of `count` of the conversations in a folder and the folders in it, with
/// their places. Which conversations are in a share does not depend on a drive's seed, so that
/// the shares together hold each of them once.
fn shared_out(
    folder: &Path,
    (number, count): (usize, usize),
) -> Result<Vec<(String, WrittenConversation)>> {
    let mut folders = vec![folder.to_owned()];
    let what = || format!("cannot read the conversations in {}", folder.display());
    for entry in fs::read_dir(folder).with_context(what)? {
        let path = entry.with_context(what)?.path();
        if path.is_dir() {
            folders.push(path);
        }
    }
    folders.sort();
    let mut all = Vec::new();
    for folder in &folders {
        for (path, conversation) in read_sheets(folder)? {
            let name =
                |part: Option<&OsStr>| part.unwrap_or_default().to_string_lossy().into_owned();
            let hand = name(path.parent().and_then(Path::file_name));
            let place = format!("{hand}/{}:{}", name(path.file_name()), conversation.line);
            all.push((place, conversation));
        }
    }
    let mut order = SeededRandom::stream(0, "shares of conversations");
    let mut drawn: Vec<_> = all.into_iter().map(|one| (order.bits(), one)).collect();
    drawn.sort_by_key(|(drawn, _)| *drawn);
    let share = drawn
        .into_iter()
        .map(|(_, one)| one)
        .skip(number - 1)
        .step_by(count);
    Ok(share.collect())
}

fn share(text: &str) -> Result<(usize, usize), String> {
    let parts = text.split_once('/').map(|(k, n)| (k.parse(), n.parse()));
    match parts {
        Some((Ok(number), Ok(count))) if (1..=count).contains(&number) => Ok((number, count)),
        _ => Err("give a share such as 3/20".into()),
    }
}

fn family(text: &str) -> Result<VoiceSource, String> {
    let (name, place) = text.split_once('=').unwrap_or((text, ""));
    let family = match (name, place) {
        ("espeak", "") => VoiceFamily::Espeak,
        ("flite", "") => VoiceFamily::Flite,
        ("festival", "") => VoiceFamily::Festival,
        ("pico", "") => VoiceFamily::Pico,
        ("piper", place) if !place.is_empty() => VoiceFamily::Piper,
        ("words", place) if !place.is_empty() => VoiceFamily::Words,
        _ => {
            return Err("give espeak, flite, festival, pico, piper=VOICE.onnx or words=DIR".into());
        }
    };
    Ok(VoiceSource {
        family,
        place: place.to_owned(),
    })
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
pub(super) struct ScriptCommand {
    #[command(flatten)]
    which: DriveSelection,
    /// The folder to write to
    #[arg(long)]
    out: PathBuf,
}

impl ScriptCommand {
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
        let recorded = trip_recording::record(&self.out, &plan.scenario.station, &self.out)?;
        println!(
            "{}: a trip of {:.0} s",
            recorded.trip.display(),
            plan.length_s
        );
        println!(
            "{}: its truth",
            self.out.join(script::DRIVE_TRUTH_FILE).display()
        );
        Ok(())
    }
}

#[derive(Debug, Args)]
pub(super) struct DemoDriveCommand {
    /// The folder to write to; a trip that is already there is replaced
    #[arg(long)]
    out: PathBuf,
    /// Limit for the size of the packed trip, in bytes
    #[arg(long, default_value_t = 4_000_000)]
    most_bytes: u64,
}

impl DemoDriveCommand {
    /// Makes the demo drive: a packed trip and its truth.
    pub(super) fn run(self) -> Result<()> {
        let plan = speak(scenario::demo(1))?;
        let work = tempfile::tempdir().context("cannot make a temporary folder")?;
        write_script(&plan, work.path())?;
        let card = work.path().join("card");
        let trip = trip_recording::record(work.path(), &plan.scenario.station, &card)?.trip;
        let mut progress = DriveProgress::new("packing");
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
        let truth = self.out.join(script::DRIVE_TRUTH_FILE);
        fs::copy(work.path().join(script::DRIVE_TRUTH_FILE), &truth)
            .with_context(|| format!("cannot write {}", truth.display()))?;
        println!(
            "{}: {:.0} s, {before} bytes of sound packed to {after}",
            to.display(),
            plan.length_s
        );
        Ok(())
    }
}

fn speak(scenario: DriveScenario) -> Result<DrivePlan> {
    let mut progress = DriveProgress::new("speaking");
    Ok(DrivePlan::lay_out(scenario, &mut |fraction| {
        progress.at(fraction)
    })?)
}

fn write_script(plan: &DrivePlan, folder: &Path) -> Result<()> {
    let mut progress = DriveProgress::new("mixing");
    Ok(script::write(plan, folder, &mut |fraction| {
        progress.at(fraction)
    })?)
}
