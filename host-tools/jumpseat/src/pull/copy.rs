//! What is to be done about one file.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

use anyhow::{Context as _, Result, bail};
use jumpseat_trip::open_regular_file;
use jumpseat_values::display::hex;
use sha2::{Digest as _, Sha256};

use super::append_only::is_wav;
use super::find::SourceFile;
use super::keeper::FetchTask;
use super::source::{FetchEvent, FileRange, TripSource, is_gone};
use super::watch::PullProgress;
use crate::home::file_name;
use crate::outcome::error_message;
use crate::system;

/// What is to be done about a file.
#[derive(Debug)]
pub(super) enum FilePlan {
    /// It is here.
    Present,
    /// It is here and was not known to be right; its checksum is that of the source.
    Proven { sum: String },
    /// Another file of that name is here, no shorter than this; it is kept.
    Differs,
    /// It cannot be had, or not be put here, for this reason.
    Failed(String),
    /// What is missing of it is to be fetched.
    Fetch(FetchTask),
}

/// A file of the source and the one of the library that it belongs to.
#[derive(Clone, Copy)]
pub(super) struct FilePair<'a> {
    pub(super) file: &'a SourceFile,
    /// The trip's folder in the library.
    pub(super) folder: &'a Path,
    /// The checksum that a former pull noted.
    pub(super) known: Option<&'a str>,
    /// What is here is compared again.
    pub(super) verify: bool,
}

/// Finds out what is to be done about a file.
///
/// A longer one is fetched: the recorder was still writing it when it was pulled.
/// Whether it holds all that is here is seen when it has come. Whatever else differs
/// is kept as it is in the library.
///
/// # Errors
/// Only when the source as a whole does not answer.
pub(super) fn plan_file(
    source: &mut dyn TripSource,
    pair: FilePair<'_>,
    watch: &PullProgress<'_>,
) -> Result<FilePlan> {
    let planned = compare(source, pair, watch);
    planned.or_else(|error| {
        if is_gone(&error) {
            Err(error)
        } else {
            Ok(FilePlan::Failed(error_message(&error)))
        }
    })
}

fn compare(
    source: &mut dyn TripSource,
    pair: FilePair<'_>,
    watch: &PullProgress<'_>,
) -> Result<FilePlan> {
    let FilePair { file, known, .. } = pair;
    let to = &pair.folder.join(&file.name);
    let part = part(to, file);
    let have = length_of_part(&part)?;
    let copy = to.symlink_metadata().ok();
    if copy.as_ref().is_some_and(|copy| !copy.is_file()) {
        bail!(
            "{} is no ordinary file, so nothing was written there; move it away and pull again",
            to.display()
        );
    }
    // A part that is whole was about to get its name.
    if let Some(copy) = copy.filter(|copy| have != file.bytes || copy.len() > have) {
        let same =
            copy.len() == file.bytes && copy.modified().ok() == file.modified && known.is_some();
        if same && !pair.verify {
            watch.add(file.bytes);
            return Ok(FilePlan::Present);
        }
        let here = file_checksum(to)?;
        if known.is_some_and(|known| known != here) {
            bail!(
                "{} is not what was copied: its checksum is not the one noted then. Move the \
                 trip's folder away and pull again",
                to.display()
            );
        }
        if copy.len() == file.bytes && here == sum_there(source, file, watch)? {
            // From an interrupted pull, or from elsewhere: it is proven now, and
            // the next pull need not read it again.
            set_modified(to, file)?;
            return Ok(if known.is_some() {
                FilePlan::Present
            } else {
                FilePlan::Proven { sum: here }
            });
        }
        // A WAV file's header is written again when it is closed.
        if copy.len() > file.bytes || (copy.len() == file.bytes && !is_wav(&file.name)) {
            return Ok(FilePlan::Differs);
        }
    }
    make_way(pair.folder, &file.name)?;
    let too_long = have > file.bytes;
    if too_long {
        fs::remove_file(&part).with_context(|| cannot("remove", &part))?;
    }
    Ok(FilePlan::Fetch(FetchTask {
        path: file.path.clone(),
        name: file.name.clone(),
        bytes: file.bytes,
        modified: file.modified,
        part,
        have: if too_long { 0 } else { have },
        to: to.to_owned(),
        noted: None,
    }))
}

/// Makes the folders that lead to a file of a trip; no link is among them.
fn make_way(folder: &Path, name: &str) -> Result<()> {
    let mut path = folder.to_owned();
    for part in name.split('/') {
        system::make_folder(&path).with_context(|| cannot("write into", &path))?;
        path.push(part);
    }
    Ok(())
}

/// How much of a file there is in its part; what is no ordinary file is removed.
fn length_of_part(part: &Path) -> Result<u64> {
    match part.symlink_metadata() {
        Ok(data) if data.is_file() => Ok(data.len()),
        Ok(_) => {
            fs::remove_file(part).with_context(|| cannot("remove", part))?;
            Ok(0)
        }
        Err(_) => Ok(0),
    }
}

/// A hidden name for the file while it is not whole. Length and time of the source
/// are in it: what was fetched of another state of the file is not gone on with.
fn part(to: &Path, file: &SourceFile) -> PathBuf {
    let time = file
        .modified
        .and_then(|time| time.duration_since(UNIX_EPOCH).ok())
        .map_or(0, |time| time.as_nanos());
    to.with_file_name(format!(".{}.{}-{time}.part", file_name(to), file.bytes))
}

/// Removes what former pulls left of other states of files in the folders of these.
pub(super) fn remove_others<'a>(tasks: impl Iterator<Item = &'a FetchTask>) -> Result<()> {
    let parts: BTreeSet<&Path> = tasks.map(|task| task.part.as_path()).collect();
    let folders: BTreeSet<&Path> = parts.iter().filter_map(|part| part.parent()).collect();
    for folder in folders {
        for entry in fs::read_dir(folder).with_context(|| cannot("list", folder))? {
            let path = entry.with_context(|| cannot("list", folder))?.path();
            let name = file_name(&path);
            let is_part = name.starts_with('.') && name.ends_with(".part") && path.is_file();
            if is_part && !parts.contains(path.as_path()) {
                fs::remove_file(&path).with_context(|| cannot("remove", &path))?;
            }
        }
    }
    Ok(())
}

fn set_modified(path: &Path, file: &SourceFile) -> Result<()> {
    let Some(modified) = file.modified else {
        return Ok(());
    };
    system::open_to_append(path)
        .and_then(|file| file.set_modified(modified))
        .with_context(|| cannot("set the time of", path))
}

/// The checksum of the source's file.
fn sum_there(
    source: &mut dyn TripSource,
    file: &SourceFile,
    watch: &PullProgress<'_>,
) -> Result<String> {
    let mut digest = Sha256::new();
    let wanted = FileRange {
        path: file.path.clone(),
        from: 0,
        length: file.bytes,
    };
    let mut failed = None;
    source.fetch(&[wanted], &mut |_, got| {
        match got {
            FetchEvent::Piece(piece) => {
                digest.update(&piece);
                watch.add(piece.len() as u64);
            }
            FetchEvent::Failed(why) => failed = Some(why),
        }
        watch.tell()
    })?;
    match failed {
        Some(why) => bail!(why),
        None => Ok(hex(&digest.finalize())),
    }
}

/// The checksum of a file here.
pub(super) fn file_checksum(path: &Path) -> Result<String> {
    let mut file = open_regular_file(path).with_context(|| cannot("read", path))?;
    let mut digest = Sha256::new();
    digest_of(&mut file, &mut digest).with_context(|| cannot("read", path))?;
    Ok(hex(&digest.finalize()))
}

/// Takes in the rest of a file; gives its length.
pub(super) fn digest_of(file: &mut File, digest: &mut Sha256) -> io::Result<u64> {
    let mut buffer = vec![0_u8; 1 << 20];
    let mut bytes = 0;
    loop {
        match file.read(&mut buffer) {
            Ok(0) => return Ok(bytes),
            Ok(count) => {
                digest.update(&buffer[..count]);
                bytes += count as u64;
            }
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
}

pub(super) fn cannot(do_what: &str, path: &Path) -> String {
    format!(
        "cannot {do_what} {}; what was copied so far is kept, so that you can try again",
        path.display()
    )
}

#[cfg(test)]
mod tests {
    use super::super::folder::FolderSource;
    use super::*;

    /// What is to be done about a file of a folder's `card`, in a word; its place is in
    /// the folder's `here`.
    fn plan_of(folder: &Path, name: &str, known: Option<&str>) -> String {
        let data = fs::metadata(folder.join("card").join(name)).unwrap();
        let file = SourceFile {
            path: name.into(),
            name: name.into(),
            bytes: data.len(),
            modified: data.modified().ok(),
        };
        let watch = PullProgress::new(0, &|_| Ok(()));
        let pair = FilePair {
            file: &file,
            folder: &folder.join("here"),
            known,
            verify: true,
        };
        match plan_file(&mut FolderSource::new(&folder.join("card")), pair, &watch).unwrap() {
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

    /// Source, copy (None: not there), noted checksum is the copy's.
    #[track_caller]
    fn check(name: &str, source: &str, here: Option<&str>, noted: bool, expected: &str) {
        let folder = tempfile::tempdir().unwrap();
        let to = folder.path().join("here").join(name);
        write(&folder.path().join("card").join(name), source);
        let mut known = None;
        if let Some(here) = here {
            write(&to, here);
            known = noted.then(|| file_checksum(&to).unwrap());
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
        // Perhaps it was closed since; what has come will tell.
        check("audio/1.wav", "abcd", Some("abcx"), true, "fetch");
        check("audio/1.wav", "abc", Some("abcx"), true, "differs");
    }

    #[test]
    fn a_copy_that_went_bad_is_not_taken_for_good() {
        let folder = tempfile::tempdir().unwrap();
        let (card, here) = (folder.path().join("card/f"), folder.path().join("here/f"));
        write(&card, "abcd");
        write(&here, "abcX");
        let known = file_checksum(&card).unwrap();
        let done = plan_of(folder.path(), "f", Some(&known));
        assert!(done.contains("not what was copied"), "{done}");
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
            ("text", "no ordinary file"),
        ] {
            let done = plan_of(folder.path(), name, None);
            assert!(done.contains(expected), "{done}");
        }
        assert_eq!(fs::read_dir(at("elsewhere")).unwrap().count(), 0);
    }

    #[test]
    fn the_checksum_is_the_published_one() {
        // FIPS 180-4 example: SHA-256 of "abc".
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("abc");
        fs::write(&path, "abc").unwrap();
        assert_eq!(
            file_checksum(&path).unwrap(),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }
}
