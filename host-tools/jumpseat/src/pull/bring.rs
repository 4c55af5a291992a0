//! One trip into the library.
//!
//! The journals come first: they say what the sound files must be. Everything is
//! fetched under hidden names, proven and on the disk before the checksums are
//! noted, and those are noted before any file gets its name. Each file stands for
//! itself: what cannot be had is told, and the rest comes.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result};
use jumpseat_files::sync_folder;

use super::append_only::contains;
use super::copy::{FilePair, FilePlan, cannot, plan_file, remove_others};
use super::find::{SourceFile, SourceTrip, is_journal};
use super::keeper::{FetchOutcome, FetchTask, fetch};
use super::library::{LibraryPlace, TripLibrary, other_was_released, was_released};
use super::noted::JournalManifest;
use super::running::grows;
use super::source::TripSource;
use super::sums::ChecksumList;
use super::watch::{PullEvent, PullProgress};
use super::{MissingFile, PullReport};
use crate::system;

/// Brings one trip into the library.
///
/// # Errors
/// When the source as a whole does not answer any more, or the library cannot be
/// written.
pub(super) fn transfer_trip(
    source: &mut dyn TripSource,
    trip: &SourceTrip,
    (library, place): (&TripLibrary, &LibraryPlace),
    how: TransferOptions<'_>,
    report: &mut PullReport,
) -> Result<()> {
    if trip.files.is_empty() {
        if report.doubts.is_empty() {
            let doubt = "there is nothing in it; it was not copied";
            report.doubts.push(doubt.into());
        }
        return Ok(());
    }
    let folder = if place.is_known {
        &place.path
    } else {
        system::make_folder(&place.staging).with_context(|| cannot("make", &place.staging))?;
        &place.staging
    };
    let mut bringing = TripTransfer {
        trip,
        folder,
        how,
        sums: ChecksumList::read(folder)?,
        proven: Vec::new(),
        results: BTreeMap::new(),
        report,
    };
    let (mut texts, mut sound) = bringing.plan(source)?;
    remove_others(texts.iter().chain(&sound))?;
    let fetched = fetch(source, &texts, folder, how.watch)?;
    let texts_come = bringing.sift(&mut texts, fetched)?;
    let manifest = bringing.manifest(&texts)?;
    bringing.prove(&manifest)?;
    let may_go_on = how.may_be_running && !texts.is_empty() && manifest.may_go_on();
    if may_go_on && grows(source, trip, how.watch)? {
        bringing.leave_open_ones(&manifest, &mut sound);
    }
    for task in &mut sound {
        task.noted = manifest.recorded(&task.name).cloned();
    }
    let fetched = fetch(source, &sound, folder, how.watch)?;
    let mut come = bringing.sift(&mut sound, fetched)?;
    sound.splice(0..0, texts);
    come.splice(0..0, texts_come);
    bringing.settle(&sound, come)?;
    if !place.is_known && bringing.has_anything() {
        sync_folder(folder)?;
        fs::rename(folder, &place.path).with_context(|| cannot("name", &place.path))?;
        sync_folder(library.dir())?;
    }
    bringing.tell()
}

/// How a trip is brought.
#[derive(Clone, Copy)]
pub(super) struct TransferOptions<'a> {
    /// What is here already is compared as well.
    pub(super) verify: bool,
    /// The recorder may be at it just now.
    pub(super) may_be_running: bool,
    pub(super) watch: &'a PullProgress<'a>,
}

/// A file that has come whole: its checksum, and whether it is not what the board
/// noted.
struct ArrivedFile {
    sum: String,
    spoilt: bool,
}

/// A trip on its way.
struct TripTransfer<'a> {
    trip: &'a SourceTrip,
    /// Where it is put together.
    folder: &'a Path,
    how: TransferOptions<'a>,
    sums: ChecksumList,
    /// Files that were here and proved to be the source's, with their checksums.
    proven: Vec<(&'a SourceFile, String)>,
    /// What became of each file, in a word.
    results: BTreeMap<&'a str, &'static str>,
    report: &'a mut PullReport,
}

impl<'a> TripTransfer<'a> {
    /// What is to be fetched: texts, and sound.
    fn plan(&mut self, source: &mut dyn TripSource) -> Result<(Vec<FetchTask>, Vec<FetchTask>)> {
        let (mut texts, mut sound) = (Vec::new(), Vec::new());
        let kept = jumpseat_trip::RetentionManifest::read(self.folder);
        let trip = self.trip;
        for file in &trip.files {
            if was_released(kept.as_ref(), file) {
                self.how.watch.add(file.bytes);
                self.report.present += 1;
                self.results.insert(&file.name, "here already");
                continue;
            }
            if other_was_released(kept.as_ref(), file) {
                self.differs(source.display_path(&file.path), &file.name);
                continue;
            }
            let pair = FilePair {
                file,
                folder: self.folder,
                known: self.sums.checksum(&file.name),
                verify: self.how.verify,
            };
            match plan_file(source, pair, self.how.watch)? {
                FilePlan::Present => {
                    self.report.present += 1;
                    self.results.insert(&file.name, "here already");
                }
                FilePlan::Proven { sum } => self.proven.push((file, sum)),
                FilePlan::Differs => self.differs(source.display_path(&file.path), &file.name),
                FilePlan::Failed(why) => self.failed(&file.name, why),
                FilePlan::Fetch(task) if file.name.contains('/') => sound.push(task),
                FilePlan::Fetch(task) => texts.push(task),
            }
        }
        Ok((texts, sound))
    }

    /// The library's file stays, and the other one where it is.
    fn differs(&mut self, said: String, name: &str) {
        self.report.doubts.push(format!(
            "{said} differs from the copy in the library, which was kept"
        ));
        self.result(name, "differs");
    }

    fn failed(&mut self, name: &str, why: String) {
        self.report.missing.push(MissingFile {
            trip: self.report.trip.clone(),
            file: name.to_owned(),
            error: why,
        });
        self.result(name, "failed");
    }

    fn result(&mut self, name: &str, result: &'static str) {
        let trip = self.trip;
        if let Some(file) = trip.files.iter().find(|file| file.name == name) {
            self.results.insert(&file.name, result);
        }
    }

    /// Takes the tasks out that did not end well: those whose file did not come, and
    /// those whose file does not hold what is here already.
    fn sift(
        &mut self,
        tasks: &mut Vec<FetchTask>,
        fetched: Vec<FetchOutcome>,
    ) -> Result<Vec<ArrivedFile>> {
        let mut come = Vec::new();
        let mut fetched = fetched.into_iter();
        let mut kept = Vec::new();
        for task in tasks.drain(..) {
            match fetched.next() {
                Some(FetchOutcome::Whole { sum, spoilt }) => {
                    if is_growth(&task)? {
                        come.push(ArrivedFile { sum, spoilt });
                        kept.push(task);
                    } else {
                        fs::remove_file(&task.part)
                            .with_context(|| cannot("remove", &task.part))?;
                        self.differs(task.path.clone(), &task.name);
                    }
                }
                Some(FetchOutcome::Failed(why)) => self.failed(&task.name, why),
                None => self.failed(&task.name, "nothing came of it".into()),
            }
        }
        *tasks = kept;
        Ok(come)
    }

    /// What the journals say, those that came just now and those that were here.
    fn manifest(&self, texts: &[FetchTask]) -> Result<JournalManifest> {
        let names = self.trip.files.iter().map(|file| &file.name);
        let mut journals: Vec<(&String, PathBuf)> = names
            .filter(|name| is_journal(name))
            .map(|name| {
                let fresh = texts.iter().find(|task| task.name == **name);
                let path = fresh.map_or_else(|| self.folder.join(name), |task| task.part.clone());
                (name, path)
            })
            .filter(|(_, path)| path.exists())
            .collect();
        // "journal-10.jsonl" comes after "journal-9.jsonl".
        journals.sort_by_key(|(name, _)| (name.len(), *name));
        let paths: Vec<&Path> = journals.iter().map(|(_, path)| path.as_path()).collect();
        JournalManifest::read(&paths)
    }

    /// Holds what was here to what the board noted, as what comes is.
    fn prove(&mut self, manifest: &JournalManifest) -> Result<()> {
        for (file, sum) in std::mem::take(&mut self.proven) {
            let spoilt = match manifest.recorded(&file.name) {
                Some(noted) => !noted.is_of(&self.folder.join(&file.name))?,
                None => false,
            };
            if spoilt {
                // As it was at the last pull.
                self.report.present += 1;
                self.results.insert(&file.name, "here already");
            } else {
                self.report.copied += 1;
                self.report.bytes += file.bytes;
                self.results.insert(&file.name, "copied");
            }
            self.note(&file.name, ArrivedFile { sum, spoilt });
        }
        Ok(())
    }

    /// Notes a checksum. What is spoilt gets none, so that it is never confirmed and
    /// the next pull looks again.
    fn note(&mut self, name: &str, come: ArrivedFile) {
        if come.spoilt {
            self.sums.forget(name);
            self.report.doubts.push(format!(
                "{name} is not what the board recorded: its samples have another checksum than \
                 the journal says. The card may be failing; what it gave was copied"
            ));
        } else {
            self.sums.set(name, come.sum);
        }
    }

    /// A trip that is being recorded comes up to its last closed file.
    fn leave_open_ones(&mut self, manifest: &JournalManifest, sound: &mut Vec<FetchTask>) {
        sound.retain(|task| !manifest.is_open(&task.name));
        self.results.retain(|name, _| !manifest.is_open(name));
        self.report.running = true;
        self.report
            .notes
            .push("it is still being recorded; the rest comes with the next pull".into());
    }

    /// Gives the files that were fetched their names.
    fn settle(&mut self, tasks: &[FetchTask], come: Vec<ArrivedFile>) -> Result<()> {
        for (task, come) in tasks.iter().zip(come) {
            self.report.copied += 1;
            self.report.bytes += task.bytes;
            self.note(&task.name, come);
            self.result(&task.name, "copied");
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

    /// Whether any file of the trip is here.
    fn has_anything(&self) -> bool {
        let mut results = self.results.values();
        results.any(|result| *result != "failed")
    }

    /// Says what became of each file.
    fn tell(&self) -> Result<()> {
        for file in &self.trip.files {
            if let Some(result) = self.results.get(file.name.as_str()) {
                let missing = &self.report.missing;
                let failed = missing.iter().find(|failed| failed.file == file.name);
                self.how.watch.event(&PullEvent::File {
                    trip: &self.report.trip,
                    file: &file.name,
                    bytes: file.bytes,
                    result,
                    sha256: self.sums.checksum(&file.name),
                    error: failed.map(|failed| failed.error.as_str()),
                })?;
            }
        }
        Ok(())
    }
}

/// Whether what has come may take the place of what is here.
fn is_growth(task: &FetchTask) -> Result<bool> {
    if task.to.symlink_metadata().is_err() {
        return Ok(true);
    }
    contains(&task.part, &task.to).with_context(|| cannot("compare", &task.to))
}
