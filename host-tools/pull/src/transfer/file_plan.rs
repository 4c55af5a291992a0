//! Decides what to do about one file of a source.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

use jumpseat_files::{file_name, make_folder_no_follow, open_to_append};
use jumpseat_values::display::hex;
use sha2::{Digest as _, Sha256};

use super::fetch::FetchTask;
use crate::checksums::file_checksum;
use crate::error::PullError;
use crate::progress::PullProgress;
use crate::source::{FetchEvent, FileRange, TripSource};
use crate::source_trip::{SourceFile, is_wav};

/// What to do about a file.
#[derive(Debug)]
pub(super) enum FilePlan {
    /// Nothing: it is in the library.
    Present,
    /// Store its checksum: it is in the library without one, and is the same as the source's.
    Proven {
        /// SHA-256 in hex.
        sha256: String,
    },
    /// Keep the library's file: it differs, and is no shorter than the source's.
    Differs,
    /// Report that it cannot be read, or not be written here, for this reason.
    Failed(String),
    /// Fetch what is missing of it.
    Fetch(FetchTask),
}

/// A file of the source and its counterpart in the library.
#[derive(Clone, Copy)]
pub(super) struct FilePair<'a> {
    pub(super) file: &'a SourceFile,
    /// The trip's folder in the library.
    pub(super) folder: &'a Path,
    /// The checksum that an earlier pull stored.
    pub(super) known: Option<&'a str>,
    /// Compare the library's file again.
    pub(super) verify: bool,
}

/// Decides what to do about a file.
///
/// A longer file is fetched, because the recorder may have been writing it at the last
/// pull; whether it contains the library's file is checked when it has arrived. Any other
/// file that differs is kept as it is in the library.
///
/// # Errors
/// Only when the source as a whole does not answer.
pub(super) fn plan_file(
    source: &mut dyn TripSource,
    pair: FilePair<'_>,
    progress: &PullProgress<'_>,
) -> Result<FilePlan, PullError> {
    let planned = compare(source, pair, progress);
    planned.or_else(|error| {
        if error.is_source_gone() {
            Err(error)
        } else {
            Ok(FilePlan::Failed(error.message()))
        }
    })
}

fn compare(
    source: &mut dyn TripSource,
    pair: FilePair<'_>,
    progress: &PullProgress<'_>,
) -> Result<FilePlan, PullError> {
    let FilePair { file, known, .. } = pair;
    let to = &pair.folder.join(&file.name);
    let part = part_path(to, file);
    let have = length_of_part(&part)?;
    let copy = to.symlink_metadata().ok();
    if copy.as_ref().is_some_and(|copy| !copy.is_file()) {
        return Err(PullError::LibraryFile(format!(
            "{} is not an ordinary file, so nothing was written there; move it away and pull again",
            to.display()
        )));
    }
    // A complete part was about to get its name.
    if let Some(copy) = copy.filter(|copy| have != file.bytes || copy.len() > have) {
        let same =
            copy.len() == file.bytes && copy.modified().ok() == file.modified && known.is_some();
        if same && !pair.verify {
            progress.add(file.bytes);
            return Ok(FilePlan::Present);
        }
        let here = file_checksum(to, &|_| ())
            .map_err(PullError::library("read", to))?
            .sha256;
        if known.is_some_and(|known| known != here) {
            return Err(PullError::LibraryFile(format!(
                "{} has changed since it was copied: its checksum differs. Move the trip's folder \
                 away and pull again",
                to.display()
            )));
        }
        if copy.len() == file.bytes && here == checksum_in_source(source, file, progress)? {
            // The file is from an interrupted pull, or from elsewhere. Now it is verified, and
            // the next pull need not read it again.
            set_modified(to, file)?;
            return Ok(if known.is_some() {
                FilePlan::Present
            } else {
                FilePlan::Proven { sha256: here }
            });
        }
        // A WAV file's header is written again when it is closed.
        if copy.len() > file.bytes || (copy.len() == file.bytes && !is_wav(&file.name)) {
            return Ok(FilePlan::Differs);
        }
    }
    make_folders(pair.folder, &file.name)?;
    let too_long = have > file.bytes;
    if too_long {
        fs::remove_file(&part).map_err(PullError::library("remove", &part))?;
    }
    Ok(FilePlan::Fetch(FetchTask {
        path: file.path.clone(),
        name: file.name.clone(),
        bytes: file.bytes,
        modified: file.modified,
        part,
        have: if too_long { 0 } else { have },
        to: to.to_owned(),
        recorded: None,
    }))
}

/// Makes the folders that lead to a file of a trip; fails if one of them is a link.
fn make_folders(folder: &Path, name: &str) -> Result<(), PullError> {
    let mut path = folder.to_owned();
    for part in name.split('/') {
        make_folder_no_follow(&path).map_err(PullError::library("write into", &path))?;
        path.push(part);
    }
    Ok(())
}

/// How many bytes a part has; removes what is not an ordinary file.
fn length_of_part(part: &Path) -> Result<u64, PullError> {
    match part.symlink_metadata() {
        Ok(data) if data.is_file() => Ok(data.len()),
        Ok(_) => {
            fs::remove_file(part).map_err(PullError::library("remove", part))?;
            Ok(0)
        }
        Err(_) => Ok(0),
    }
}

/// The hidden name of the file while it is incomplete. It contains the length and time of
/// the source's file, so that parts of two versions of a file are not mixed.
fn part_path(to: &Path, file: &SourceFile) -> PathBuf {
    let time = file
        .modified
        .and_then(|time| time.duration_since(UNIX_EPOCH).ok())
        .map_or(0, |time| time.as_nanos());
    to.with_file_name(format!(".{}.{}-{time}.part", file_name(to), file.bytes))
}

/// Removes the parts that earlier pulls left of other versions of files, in the folders of
/// these.
pub(super) fn remove_other_parts<'a>(
    tasks: impl Iterator<Item = &'a FetchTask>,
) -> Result<(), PullError> {
    let parts: BTreeSet<&Path> = tasks.map(|task| task.part.as_path()).collect();
    let folders: BTreeSet<&Path> = parts.iter().filter_map(|part| part.parent()).collect();
    for folder in folders {
        for entry in fs::read_dir(folder).map_err(PullError::library("list", folder))? {
            let path = entry.map_err(PullError::library("list", folder))?.path();
            let name = file_name(&path);
            let is_part = name.starts_with('.') && name.ends_with(".part") && path.is_file();
            if is_part && !parts.contains(path.as_path()) {
                fs::remove_file(&path).map_err(PullError::library("remove", &path))?;
            }
        }
    }
    Ok(())
}

fn set_modified(path: &Path, file: &SourceFile) -> Result<(), PullError> {
    let Some(modified) = file.modified else {
        return Ok(());
    };
    open_to_append(path)
        .and_then(|file| file.set_modified(modified))
        .map_err(PullError::library("set the time of", path))
}

/// The checksum of the source's file.
fn checksum_in_source(
    source: &mut dyn TripSource,
    file: &SourceFile,
    progress: &PullProgress<'_>,
) -> Result<String, PullError> {
    let mut digest = Sha256::new();
    let wanted = FileRange {
        path: file.path.clone(),
        from: 0,
        length: file.bytes,
    };
    let mut failed = None;
    source.fetch(&[wanted], &mut |_, event| {
        match event {
            FetchEvent::Piece(piece) => {
                digest.update(&piece);
                progress.add(piece.len() as u64);
            }
            FetchEvent::Failed(why) => failed = Some(why),
        }
        progress.report_if_due()
    })?;
    match failed {
        Some(why) => Err(PullError::SourcePath(why)),
        None => Ok(hex(&digest.finalize())),
    }
}

#[cfg(test)]
mod tests {
    use std::io;

    use super::*;
    use crate::event::{PullEvent, PullListener};
    use crate::source::FolderSource;

    struct NoListener;

    impl PullListener for NoListener {
        fn advance(&self, _: u64) {}

        fn event(&self, _: &PullEvent<'_>) -> io::Result<()> {
            Ok(())
        }
    }

    fn sum(path: &Path) -> String {
        file_checksum(path, &|_| ()).unwrap().sha256
    }

    /// The plan for a file of the folder's `card`, in a word; the library is the folder's
    /// `here`.
    fn plan_of(folder: &Path, name: &str, known: Option<&str>) -> String {
        let data = fs::metadata(folder.join("card").join(name)).unwrap();
        let file = SourceFile {
            path: name.into(),
            name: name.into(),
            bytes: data.len(),
            modified: data.modified().ok(),
        };
        let progress = PullProgress::new(0, &NoListener);
        let pair = FilePair {
            file: &file,
            folder: &folder.join("here"),
            known,
            verify: true,
        };
        let mut source = FolderSource::new(&folder.join("card"));
        match plan_file(&mut source, pair, &progress).unwrap() {
            FilePlan::Proven { .. } => "proven".into(),
            FilePlan::Present => "present".into(),
            FilePlan::Differs => "differs".into(),
            FilePlan::Failed(why) => why,
            FilePlan::Fetch(_) => "fetch".into(),
        }
    }

    fn write(path: &Path, text: &str) {
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    /// Source, copy (None: not there), and whether the copy's checksum is known.
    #[track_caller]
    fn check(name: &str, source: &str, here: Option<&str>, noted: bool, expected: &str) {
        let folder = tempfile::tempdir().unwrap();
        let to = folder.path().join("here").join(name);
        write(&folder.path().join("card").join(name), source);
        let mut known = None;
        if let Some(here) = here {
            write(&to, here);
            known = noted.then(|| sum(&to));
        }
        let done = plan_of(folder.path(), name, known.as_deref());
        assert_eq!(done, expected, "{source} {here:?}");
        assert_eq!(fs::read_to_string(&to).ok().as_deref(), here);
    }

    #[test]
    fn every_case_of_what_may_be_there() {
        check("text", "new", None, false, "fetch");
        check("text", "same", Some("same"), true, "present");
        check("text", "same", Some("same"), false, "proven");
        check("text", "grown since", Some("grown"), true, "fetch");
        check("text", "half", Some("half of it"), true, "differs");
        check("text", "abcd", Some("abcx"), true, "differs");
        // Perhaps the board closed it since; that shows when it has arrived.
        check("audio/1.wav", "abcd", Some("abcx"), true, "fetch");
        check("audio/1.wav", "abc", Some("abcx"), true, "differs");
    }

    #[test]
    fn a_copy_that_went_bad_is_not_taken_for_good() {
        let folder = tempfile::tempdir().unwrap();
        let (card, here) = (folder.path().join("card/f"), folder.path().join("here/f"));
        write(&card, "abcd");
        write(&here, "abcX");
        let known = sum(&card);
        let done = plan_of(folder.path(), "f", Some(&known));
        assert!(done.contains("has changed since it was copied"), "{done}");
        assert_eq!(fs::read_to_string(&here).unwrap(), "abcX");
    }

    #[cfg(unix)]
    #[test]
    fn nothing_is_written_through_a_link_of_the_library() {
        use std::os::unix::fs::symlink;
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        write(&at("card/audio/1.wav"), "sound");
        write(&at("card/text"), "words");
        fs::create_dir_all(at("here")).unwrap();
        fs::create_dir_all(at("elsewhere")).unwrap();
        symlink(at("elsewhere"), at("here/audio")).unwrap();
        symlink(at("elsewhere/text"), at("here/text")).unwrap();
        for (name, expected) in [
            ("audio/1.wav", "cannot write into"),
            ("text", "not an ordinary file"),
        ] {
            let done = plan_of(folder.path(), name, None);
            assert!(done.contains(expected), "{done}");
        }
        assert_eq!(fs::read_dir(at("elsewhere")).unwrap().count(), 0);
    }
}
