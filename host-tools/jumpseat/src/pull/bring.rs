//! One trip into the library.
//!
//! The journals come first: they say what the sound files must be. Everything is
//! fetched under hidden names, proven and on the disk before the checksums are
//! noted, and those are noted before any file gets its name.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result};
use jumpseat_log::sync_folder;

use super::Report;
use super::copy::{Plan, cannot, plan, remove_others};
use super::find::{SourceTrip, is_journal};
use super::keeper::{Kept, Task, fetch};
use super::library::{Library, is_kept};
use super::noted::Manifest;
use super::source::Source;
use super::sums::Sums;
use super::watch::{Event, Watch};

/// Brings one trip into the library.
pub(super) fn bring(
    source: &mut dyn Source,
    trip: &SourceTrip,
    library: &Library,
    how: How<'_>,
    report: &mut Report,
) -> Result<()> {
    let place = library.place(&trip.name);
    let staging = library.dir().join(format!(".{}.part", trip.name));
    let known = place.is_dir();
    let folder = if known { &place } else { &staging };
    if trip.files.is_empty() {
        let doubt = "there is nothing in it; it was not copied";
        report.doubts.push(doubt.into());
        return Ok(());
    }
    fs::create_dir_all(folder).with_context(|| cannot("make", folder))?;
    let mut bringing = Bringing {
        trip,
        folder,
        how,
        sums: Sums::read(folder)?,
        results: BTreeMap::new(),
        report,
    };
    let (mut texts, mut sound) = bringing.plan(source)?;
    remove_others(texts.iter().chain(&sound))?;
    let mut kept = fetch(source, &texts, folder, how.watch)?;
    let manifest = bringing.manifest(&texts)?;
    if how.running && manifest.may_go_on() {
        bringing.leave_open_ones(&manifest, &mut sound);
    }
    for task in &mut sound {
        task.noted = manifest.of(&task.name).cloned();
    }
    kept.extend(fetch(source, &sound, folder, how.watch)?);
    sound.splice(0..0, texts.drain(..));
    bringing.settle(&sound, kept)?;
    if !known {
        sync_folder(folder)?;
        fs::rename(folder, &place).with_context(|| cannot("name", &place))?;
        sync_folder(library.dir())?;
    }
    bringing.tell()
}

/// How a trip is brought.
#[derive(Clone, Copy)]
pub(super) struct How<'a> {
    /// What is here already is compared as well.
    pub(super) verify: bool,
    /// The recorder may be at it just now.
    pub(super) running: bool,
    pub(super) watch: &'a Watch<'a>,
}

/// A trip on its way.
struct Bringing<'a> {
    trip: &'a SourceTrip,
    /// Where it is put together.
    folder: &'a Path,
    how: How<'a>,
    sums: Sums,
    /// What became of each file, in a word.
    results: BTreeMap<&'a str, &'static str>,
    report: &'a mut Report,
}

impl<'a> Bringing<'a> {
    /// What is to be fetched: texts, and sound.
    fn plan(&mut self, source: &mut dyn Source) -> Result<(Vec<Task>, Vec<Task>)> {
        let (mut texts, mut sound) = (Vec::new(), Vec::new());
        let kept = jumpseat_trip::Kept::read(self.folder);
        for file in &self.trip.files {
            if is_kept(kept.as_ref(), file) {
                self.how.watch.add(file.bytes);
                self.report.present += 1;
                self.results.insert(&file.name, "here already");
                continue;
            }
            let to = self.folder.join(&file.name);
            let known = self.sums.of(&file.name);
            let How { verify, watch, .. } = self.how;
            let result = match plan(source, file, &to, known, verify, watch)? {
                Plan::Present => {
                    self.report.present += 1;
                    "here already"
                }
                Plan::Proven { sum } => {
                    self.report.copied += 1;
                    self.report.bytes += file.bytes;
                    self.sums.set(&file.name, sum);
                    "copied"
                }
                Plan::Differs => {
                    self.report.doubts.push(format!(
                        "{} differs from the copy in the library, which was kept",
                        source.say(&file.path)
                    ));
                    "differs"
                }
                Plan::Fetch(task) if file.name.contains('/') => {
                    sound.push(task);
                    "copied"
                }
                Plan::Fetch(task) => {
                    texts.push(task);
                    "copied"
                }
            };
            self.results.insert(&file.name, result);
        }
        Ok((texts, sound))
    }

    /// What the journals say, those that came just now and those that were here.
    fn manifest(&self, texts: &[Task]) -> Result<Manifest> {
        let names = self.trip.files.iter().map(|file| &file.name);
        let mut journals: Vec<(&String, PathBuf)> = names
            .filter(|name| is_journal(name))
            .map(|name| {
                let fresh = texts.iter().find(|task| task.name == **name);
                let path = fresh.map_or_else(|| self.folder.join(name), |task| task.part.clone());
                (name, path)
            })
            .collect();
        // "journal-10.jsonl" comes after "journal-9.jsonl".
        journals.sort_by_key(|(name, _)| (name.len(), *name));
        let paths: Vec<&Path> = journals.iter().map(|(_, path)| path.as_path()).collect();
        Manifest::read(&paths)
    }

    /// A trip that is being recorded comes up to its last closed file.
    fn leave_open_ones(&mut self, manifest: &Manifest, sound: &mut Vec<Task>) {
        sound.retain(|task| !manifest.is_open(&task.name));
        self.results.retain(|name, _| !manifest.is_open(name));
        self.report.running = true;
        self.report
            .notes
            .push("it is still being recorded; the rest comes with the next pull".into());
    }

    /// Gives the files that were fetched their names.
    fn settle(&mut self, tasks: &[Task], kept: Vec<Kept>) -> Result<()> {
        for (task, kept) in tasks.iter().zip(kept) {
            self.report.copied += 1;
            self.report.bytes += task.bytes;
            self.sums.set(&task.name, kept.sum);
            if kept.spoilt {
                self.report.doubts.push(format!(
                    "{} is not what the board recorded: its samples have another checksum than \
                     the journal says. The card may be failing; what it gave was copied",
                    task.name
                ));
            }
        }
        self.sums.write()?;
        let mut changed = BTreeSet::new();
        // Sound first, so that a journal with a name never speaks of a file without.
        for task in tasks.iter().rev() {
            fs::rename(&task.part, &task.to).with_context(|| cannot("name", &task.to))?;
            changed.extend(task.to.parent());
        }
        changed
            .into_iter()
            .try_for_each(|folder| Ok(sync_folder(folder)?))
    }

    /// Says what became of each file.
    fn tell(&self) -> Result<()> {
        for file in &self.trip.files {
            if let Some(result) = self.results.get(file.name.as_str()) {
                self.how.watch.event(&Event::File {
                    trip: &self.trip.name,
                    file: &file.name,
                    bytes: file.bytes,
                    result,
                    sha256: self.sums.of(&file.name),
                })?;
            }
        }
        Ok(())
    }
}
