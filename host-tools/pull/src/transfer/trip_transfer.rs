//! Copies one trip into the library.
//!
//! The journals come first, because they hold the checksums of the sound files. Every file
//! is fetched under a hidden name, verified, and on the disk before its checksum is
//! written, and the checksums are written before any file gets its name. A file that
//! cannot be read is reported, and the others are copied.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use jumpseat_files::{make_folder_no_follow, sync_folder};
use jumpseat_trip::RetentionManifest;

use super::append_only::contains_file;
use super::fetch::{FetchOutcome, FetchTask, fetch_files};
use super::file_plan::{FilePair, FilePlan, plan_file, remove_other_parts};
use super::manifest::JournalManifest;
use super::running::is_growing;
use crate::checksums::ChecksumList;
use crate::error::PullError;
use crate::event::PullEvent;
use crate::library::{LibraryPlace, TripLibrary, other_was_released, was_released};
use crate::progress::PullProgress;
use crate::report::{MissingFile, PullReport};
use crate::source::TripSource;
use crate::source_trip::{SourceFile, SourceTrip, is_journal};

/// Copies one trip into the library.
///
/// # Errors
/// When the source as a whole stops answering, or the library cannot be written.
pub(crate) fn transfer_trip(
    source: &mut dyn TripSource,
    trip: &SourceTrip,
    (library, place): (&TripLibrary, &LibraryPlace),
    options: TransferOptions<'_>,
    report: &mut PullReport,
) -> Result<(), PullError> {
    if trip.files.is_empty() {
        if report.doubts.is_empty() {
            let doubt = "it is empty; it was not copied";
            report.doubts.push(doubt.into());
        }
        return Ok(());
    }
    let folder = if place.is_known {
        &place.path
    } else {
        make_folder_no_follow(&place.staging)
            .map_err(PullError::library("make", &place.staging))?;
        &place.staging
    };
    let mut transfer = TripTransfer {
        trip,
        folder,
        options,
        checksums: ChecksumList::read(folder)?,
        proven: Vec::new(),
        results: BTreeMap::new(),
        report,
    };
    let (mut texts, mut sound) = transfer.plan(source)?;
    remove_other_parts(texts.iter().chain(&sound))?;
    let fetched = fetch_files(source, &texts, folder, options.progress)?;
    let arrived_texts = transfer.take_arrived(&mut texts, fetched)?;
    let manifest = transfer.manifest(&texts)?;
    transfer.settle_proven(&manifest)?;
    let may_continue = options.may_be_running && !texts.is_empty() && manifest.may_continue();
    if may_continue && is_growing(source, trip, options.progress)? {
        transfer.leave_out_open_files(&manifest, &mut sound);
    }
    for task in &mut sound {
        task.recorded = manifest.recorded(&task.name).cloned();
    }
    let fetched = fetch_files(source, &sound, folder, options.progress)?;
    let mut arrived = transfer.take_arrived(&mut sound, fetched)?;
    sound.splice(0..0, texts);
    arrived.splice(0..0, arrived_texts);
    transfer.settle(&sound, arrived)?;
    if !place.is_known && transfer.has_anything() {
        sync_folder(folder)?;
        fs::rename(folder, &place.path).map_err(PullError::library("rename", &place.path))?;
        sync_folder(library.dir())?;
    }
    transfer.report_files()
}

/// How to copy a trip.
#[derive(Clone, Copy)]
pub(crate) struct TransferOptions<'a> {
    /// Compare the files that are in the library already.
    pub(crate) verify: bool,
    /// The trip may still be recorded.
    pub(crate) may_be_running: bool,
    pub(crate) progress: &'a PullProgress<'a>,
}

/// A file that arrived completely: its checksum, and whether its samples differ from what
/// the board recorded.
struct ArrivedFile {
    sha256: String,
    differs_from_journal: bool,
}

/// A trip that is being copied.
struct TripTransfer<'a> {
    trip: &'a SourceTrip,
    /// The folder into which it is copied.
    folder: &'a Path,
    options: TransferOptions<'a>,
    checksums: ChecksumList,
    /// Files that were in the library without a checksum and are the same as the source's,
    /// with their checksums.
    proven: Vec<(&'a SourceFile, String)>,
    /// The result for each file, as in [`PullEvent::File`].
    results: BTreeMap<&'a str, &'static str>,
    report: &'a mut PullReport,
}

impl<'a> TripTransfer<'a> {
    /// What to fetch: text files, and sound files.
    fn plan(
        &mut self,
        source: &mut dyn TripSource,
    ) -> Result<(Vec<FetchTask>, Vec<FetchTask>), PullError> {
        let (mut texts, mut sound) = (Vec::new(), Vec::new());
        let released = RetentionManifest::read(self.folder);
        let trip = self.trip;
        for file in &trip.files {
            if was_released(released.as_ref(), file) {
                self.options.progress.add(file.bytes);
                self.report.present += 1;
                self.results.insert(&file.name, "here already");
                continue;
            }
            if other_was_released(released.as_ref(), file) {
                self.differs(source.display_path(&file.path), &file.name);
                continue;
            }
            let pair = FilePair {
                file,
                folder: self.folder,
                known: self.checksums.checksum(&file.name),
                verify: self.options.verify,
            };
            match plan_file(source, pair, self.options.progress)? {
                FilePlan::Present => {
                    self.report.present += 1;
                    self.results.insert(&file.name, "here already");
                }
                FilePlan::Proven { sha256 } => self.proven.push((file, sha256)),
                FilePlan::Differs => self.differs(source.display_path(&file.path), &file.name),
                FilePlan::Failed(why) => self.failed(&file.name, why),
                FilePlan::Fetch(task) if file.name.contains('/') => sound.push(task),
                FilePlan::Fetch(task) => texts.push(task),
            }
        }
        Ok((texts, sound))
    }

    /// Keeps the library's file and leaves the other one where it is.
    fn differs(&mut self, path: String, name: &str) {
        self.report.doubts.push(format!(
            "{path} differs from the copy in the library, which was kept"
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

    /// Removes the tasks that failed: those whose file could not be fetched, and those whose
    /// file does not contain the one in the library.
    fn take_arrived(
        &mut self,
        tasks: &mut Vec<FetchTask>,
        fetched: Vec<FetchOutcome>,
    ) -> Result<Vec<ArrivedFile>, PullError> {
        let mut arrived = Vec::new();
        let mut fetched = fetched.into_iter();
        let mut good = Vec::new();
        for task in tasks.drain(..) {
            match fetched.next() {
                Some(FetchOutcome::Complete {
                    sha256,
                    differs_from_journal,
                }) => {
                    if may_replace(&task)? {
                        arrived.push(ArrivedFile {
                            sha256,
                            differs_from_journal,
                        });
                        good.push(task);
                    } else {
                        fs::remove_file(&task.part)
                            .map_err(PullError::library("remove", &task.part))?;
                        self.differs(task.path.clone(), &task.name);
                    }
                }
                Some(FetchOutcome::Failed(why)) => self.failed(&task.name, why),
                None => self.failed(&task.name, "the source sent nothing of it".into()),
            }
        }
        *tasks = good;
        Ok(arrived)
    }

    /// Reads the journals, those just fetched and those in the library.
    fn manifest(&self, texts: &[FetchTask]) -> Result<JournalManifest, PullError> {
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

    /// Compares the files that were in the library with what the board recorded, as those
    /// that are fetched.
    fn settle_proven(&mut self, manifest: &JournalManifest) -> Result<(), PullError> {
        for (file, sha256) in std::mem::take(&mut self.proven) {
            let differs_from_journal = match manifest.recorded(&file.name) {
                Some(recorded) => {
                    let path = self.folder.join(&file.name);
                    !recorded
                        .match_wav(&path)
                        .map_err(PullError::library("read", &path))?
                }
                None => false,
            };
            if differs_from_journal {
                // It did at the last pull, too.
                self.report.present += 1;
                self.results.insert(&file.name, "here already");
            } else {
                self.report.copied += 1;
                self.report.bytes += file.bytes;
                self.results.insert(&file.name, "copied");
            }
            let arrived = ArrivedFile {
                sha256,
                differs_from_journal,
            };
            self.set_checksum(&file.name, arrived);
        }
        Ok(())
    }

    /// Stores a file's checksum. A file that differs from the journal gets none, so that no
    /// receipt confirms it and the next pull compares it again.
    fn set_checksum(&mut self, name: &str, arrived: ArrivedFile) {
        if arrived.differs_from_journal {
            self.checksums.remove(name);
            self.report.doubts.push(format!(
                "{name} is not what the board recorded: the checksum of its samples differs from \
                 the one in the journal. The card may be failing; the file was copied as it is"
            ));
        } else {
            self.checksums.set(name, arrived.sha256);
        }
    }

    /// Copies a trip that is still being recorded up to its last closed file.
    fn leave_out_open_files(&mut self, manifest: &JournalManifest, sound: &mut Vec<FetchTask>) {
        sound.retain(|task| !manifest.is_open(&task.name));
        self.results.retain(|name, _| !manifest.is_open(name));
        self.report.running = true;
        self.report
            .notes
            .push("it is still being recorded; the next pull copies the rest".into());
    }

    /// Stores the checksums of the fetched files and gives the files their names.
    fn settle(&mut self, tasks: &[FetchTask], arrived: Vec<ArrivedFile>) -> Result<(), PullError> {
        for (task, arrived) in tasks.iter().zip(arrived) {
            self.report.copied += 1;
            self.report.bytes += task.bytes;
            self.set_checksum(&task.name, arrived);
            self.result(&task.name, "copied");
        }
        self.checksums.write()?;
        let mut changed = BTreeSet::new();
        // Sound first, so that a journal with a name never lists a file without one.
        for task in tasks.iter().rev() {
            fs::rename(&task.part, &task.to).map_err(PullError::library("rename", &task.to))?;
            changed.extend(task.to.parent());
        }
        changed
            .into_iter()
            .try_for_each(|folder| Ok(sync_folder(folder)?))
    }

    /// Whether any file of the trip is in the library.
    fn has_anything(&self) -> bool {
        let mut results = self.results.values();
        results.any(|result| *result != "failed")
    }

    /// Reports the result for each file.
    fn report_files(&self) -> Result<(), PullError> {
        for file in &self.trip.files {
            if let Some(result) = self.results.get(file.name.as_str()) {
                let missing = &self.report.missing;
                let failed = missing.iter().find(|failed| failed.file == file.name);
                self.options.progress.event(&PullEvent::File {
                    trip: &self.report.trip,
                    file: &file.name,
                    bytes: file.bytes,
                    result,
                    sha256: self.checksums.checksum(&file.name),
                    error: failed.map(|failed| failed.error.as_str()),
                })?;
            }
        }
        Ok(())
    }
}

/// Whether a fetched file may replace the one in the library.
fn may_replace(task: &FetchTask) -> Result<bool, PullError> {
    if task.to.symlink_metadata().is_err() {
        return Ok(true);
    }
    contains_file(&task.part, &task.to).map_err(PullError::library("compare", &task.to))
}
