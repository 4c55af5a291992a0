//! `drive report`.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, ensure};
use clap::Args;

use super::score::read;
use crate::score::{
    self, DraftScore, FieldVerdict, JudgedDrive, MatchedContact, ScoreSummary, plot,
};

#[derive(Debug, Args)]
pub(super) struct ReportCommand {
    /// One folder for each group of drives, with SEED.truth.json and SEED.draft.json for
    /// every drive; the name of the folder is the title of its table
    #[arg(required = true)]
    groups: Vec<PathBuf>,
    /// The page to write; its picture, calibration.svg, goes into the same folder
    #[arg(long)]
    out: PathBuf,
    /// How the drives were made: the first paragraph of the page
    #[arg(long)]
    made: String,
    /// The drives are of written conversations: a row for everything that occurs in them, and
    /// every field
    #[arg(long)]
    written: bool,
}

impl ReportCommand {
    /// Scores every group and writes a page of tables and the calibration curve.
    pub(super) fn run(self) -> Result<()> {
        let mut page = format!(
            "# The draft on drives that the simulator makes up\n\n{}\n\n![stated probability against \
             the share that was right](calibration.svg)\n",
            self.made
        );
        let mut curves = Vec::new();
        if self.written {
            page = format!(
                "# The draft judged on written conversations\n\n{}\n",
                self.made
            );
            for group in &self.groups {
                let name = group.file_name().unwrap_or_default().to_string_lossy();
                let tables = score::judgement_page(&name, &judged(group)?);
                println!("{tables}");
                page.push('\n');
                page.push_str(&tables);
            }
            return write(&self.out, &page);
        }
        for group in &self.groups {
            let name = group.file_name().unwrap_or_default().to_string_lossy();
            let scores = scores(group)?;
            let summary = ScoreSummary::from_scores(&scores);
            println!("== {name}\n{summary}");
            // Writing into a String cannot fail.
            let _ = write!(
                page,
                "\n## {name}\n\n```text\n{summary}\n\n{}```\n",
                kinds(&scores)
            );
            curves.push((name.into_owned(), summary.calibration));
        }
        let picture = self.out.with_file_name("calibration.svg");
        write(&picture, &plot::calibration(&curves))?;
        write(&self.out, &page)
    }
}

fn write(path: &Path, text: &str) -> Result<()> {
    fs::write(path, text).with_context(|| format!("cannot write {}", path.display()))
}

/// The scores of all drives of a folder, in order of their names.
fn scores(folder: &Path) -> Result<Vec<DraftScore>> {
    let drives = drives(folder)?;
    let score =
        |(draft, truth): &(PathBuf, PathBuf)| Ok(score::score(&read(truth)?, &read(draft)?)?);
    drives.iter().map(score).collect()
}

/// All drives of a folder, judged, in order of their names.
fn judged(folder: &Path) -> Result<Vec<JudgedDrive>> {
    let drives = drives(folder)?;
    let judge =
        |(draft, truth): &(PathBuf, PathBuf)| Ok(score::judge(&read(truth)?, &read(draft)?)?);
    drives.iter().map(judge).collect()
}

/// The drafts and truths of a folder, in order of their names.
fn drives(folder: &Path) -> Result<Vec<(PathBuf, PathBuf)>> {
    let what = || format!("cannot read {}", folder.display());
    let mut truths = Vec::new();
    for entry in fs::read_dir(folder).with_context(what)? {
        let path = entry.with_context(what)?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        if let Some(seed) = name.strip_suffix(".truth.json") {
            truths.push((path.with_file_name(format!("{seed}.draft.json")), path));
        }
    }
    ensure!(
        !truths.is_empty(),
        "{} holds no drives: it wants SEED.truth.json and SEED.draft.json",
        folder.display()
    );
    truths.sort();
    Ok(truths)
}

/// A table of what was drafted of each kind of contact.
fn kinds(scores: &[DraftScore]) -> String {
    let mut kinds: BTreeMap<&str, Vec<&MatchedContact>> = BTreeMap::new();
    for found in scores.iter().flat_map(|score| &score.matched) {
        kinds.entry(&found.kind).or_default().push(found);
    }
    let mut text = format!(
        "{:<26} {:>6} {:>11} {:>7} {:>6} {:>14}\n",
        "kind of contact", "found", "call right", "listed", "wrong", "start on time"
    );
    for (kind, found) in kinds {
        let calls = |verdict| found.iter().filter(|one| one.call == verdict).count();
        let on_time =
            |one: &&&MatchedContact| one.on_error_s.is_some_and(|error| error.abs() <= 2.0);
        // Writing into a String cannot fail.
        let _ = writeln!(
            text,
            "{kind:<26} {:>6} {:>11} {:>7} {:>6} {:>14}",
            found.len(),
            calls(FieldVerdict::Right),
            calls(FieldVerdict::Alternative),
            calls(FieldVerdict::Wrong),
            found.iter().filter(on_time).count()
        );
    }
    text
}
