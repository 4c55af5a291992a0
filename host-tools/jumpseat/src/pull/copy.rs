//! One file, copied and proven.

use std::fs::{self, File};
use std::io::{self, Read as _, Seek as _, Write as _};
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

use anyhow::{Context as _, Result, bail};
use jumpseat_log::form::hex;
use sha2::{Digest as _, Sha256};

use super::find::SourceFile;
use super::source::Source;
use crate::home::name_of;
use crate::progress::Progress;

/// What became of a file.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Copied {
    /// It was copied; the copy's checksum is that of the source.
    Whole { sum: String },
    /// The same file was there already.
    Present,
    /// Another file of that name was there, no shorter than this; it was kept.
    Differs,
}

/// Brings a file of the source to `to`. `known` is the checksum that a former pull
/// noted.
///
/// A longer file replaces a shorter one: the recorder was still writing it when
/// it was pulled. Whatever else differs is kept as it is in the library.
pub(super) fn copy(
    source: &mut dyn Source,
    file: &SourceFile,
    to: &Path,
    known: Option<&str>,
    verify: bool,
    progress: &Progress,
) -> Result<Copied> {
    if let Ok(copy) = fs::metadata(to) {
        let same =
            copy.len() == file.bytes && copy.modified().ok() == file.modified && known.is_some();
        if same && !verify {
            progress.add(file.bytes);
            return Ok(Copied::Present);
        }
        let here = sum(to)?;
        if known.is_some_and(|known| known != here) {
            bail!(
                "{} is not what was copied: its checksum is not the one noted then. Move the \
                 trip's folder away and pull again",
                to.display()
            );
        }
        if copy.len() == file.bytes && here == sum_there(source, file, progress)? {
            // From an interrupted pull, or from elsewhere: it is proven now, and
            // the next pull need not read it again.
            set_modified(to, file)?;
            return Ok(if known.is_some() {
                Copied::Present
            } else {
                Copied::Whole { sum: here }
            });
        }
        if copy.len() >= file.bytes {
            return Ok(Copied::Differs);
        }
    }
    let folder = to.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder).with_context(|| cannot("make", folder))?;
    let part = part(to, file);
    remove_others(to, &part)?;
    let read = fetch(source, file, &part, progress)?;
    let written = sum(&part)?;
    if read != written {
        bail!(
            "the copy of {} does not read back as it was written; check the disk of {}",
            source.say(&file.path),
            folder.display()
        );
    }
    fs::rename(&part, to).with_context(|| cannot("name", to))?;
    Ok(Copied::Whole { sum: read })
}

/// Copies what the part lacks, and syncs; gives the checksum of the whole.
fn fetch(
    source: &mut dyn Source,
    file: &SourceFile,
    part: &Path,
    progress: &Progress,
) -> Result<String> {
    let mut target = File::options()
        .read(true)
        .append(true)
        .create(true)
        .open(part)
        .with_context(|| cannot("write", part))?;
    let mut digest = Sha256::new();
    let mut have = digest_of(&mut target, &mut digest).with_context(|| cannot("read", part))?;
    if have > file.bytes {
        target.set_len(0).with_context(|| cannot("write", part))?;
        target.rewind().with_context(|| cannot("write", part))?;
        (digest, have) = (Sha256::new(), 0);
    }
    progress.add(have);
    source.read(&file.path, have, file.bytes - have, &mut |piece| {
        target
            .write_all(piece)
            .with_context(|| cannot("write", part))?;
        digest.update(piece);
        progress.add(piece.len() as u64);
        Ok(())
    })?;
    target.sync_all().with_context(|| cannot("sync", part))?;
    set_modified(part, file)?;
    Ok(hex(&digest.finalize()))
}

/// A hidden name for the file while it is not whole. Length and time of the source
/// are in it: what was fetched of another state of the file is not gone on with.
fn part(to: &Path, file: &SourceFile) -> PathBuf {
    let time = file
        .modified
        .and_then(|time| time.duration_since(UNIX_EPOCH).ok())
        .map_or(0, |time| time.as_nanos());
    to.with_file_name(format!(".{}.{}-{time}.part", name_of(to), file.bytes))
}

/// Removes what former pulls left of other states of the file.
fn remove_others(to: &Path, part: &Path) -> Result<()> {
    let folder = to.parent().unwrap_or(Path::new("."));
    let begin = format!(".{}.", name_of(to));
    for entry in fs::read_dir(folder).with_context(|| cannot("list", folder))? {
        let path = entry.with_context(|| cannot("list", folder))?.path();
        let name = name_of(&path);
        let rest = name.strip_prefix(&begin);
        if rest.is_some_and(|rest| rest.ends_with("part")) && path != part {
            fs::remove_file(&path).with_context(|| cannot("remove", &path))?;
        }
    }
    Ok(())
}

fn set_modified(path: &Path, file: &SourceFile) -> Result<()> {
    let Some(modified) = file.modified else {
        return Ok(());
    };
    File::options()
        .append(true)
        .open(path)
        .and_then(|file| file.set_modified(modified))
        .with_context(|| cannot("set the time of", path))
}

/// The checksum of the source's file.
fn sum_there(source: &mut dyn Source, file: &SourceFile, progress: &Progress) -> Result<String> {
    let mut digest = Sha256::new();
    source.read(&file.path, 0, file.bytes, &mut |piece| {
        digest.update(piece);
        progress.add(piece.len() as u64);
        Ok(())
    })?;
    Ok(hex(&digest.finalize()))
}

/// The checksum of a file here.
fn sum(path: &Path) -> Result<String> {
    let mut file = File::open(path).with_context(|| cannot("read", path))?;
    let mut digest = Sha256::new();
    digest_of(&mut file, &mut digest).with_context(|| cannot("read", path))?;
    Ok(hex(&digest.finalize()))
}

/// Takes in the rest of a file; gives its length.
fn digest_of(file: &mut File, digest: &mut Sha256) -> io::Result<u64> {
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

fn cannot(do_what: &str, path: &Path) -> String {
    format!(
        "cannot {do_what} {}; what was copied so far is kept, so that you can try again",
        path.display()
    )
}

#[cfg(test)]
mod tests {
    use super::super::folder::Folder;
    use super::*;

    /// Copies `from` of a folder to `to`.
    fn bring(folder: &Path, to: &Path, known: Option<&str>) -> Result<Copied> {
        let data = fs::metadata(folder.join("from")).unwrap();
        let file = SourceFile {
            path: "from".into(),
            name: "from".into(),
            bytes: data.len(),
            modified: data.modified().ok(),
        };
        let progress = Progress::new("", 0, true);
        copy(&mut Folder::new(folder), &file, to, known, true, &progress)
    }

    /// Known before, source, copy (None: not there), noted checksum is the copy's.
    #[track_caller]
    fn check(source: &str, here: Option<&str>, noted: bool, expected: &str, after: &str) {
        let folder = tempfile::tempdir().unwrap();
        let (from, to) = (folder.path().join("from"), folder.path().join("to/file"));
        fs::write(&from, source).unwrap();
        let mut known = None;
        if let Some(here) = here {
            fs::create_dir(folder.path().join("to")).unwrap();
            fs::write(&to, here).unwrap();
            known = noted.then(|| sum(&to).unwrap());
        }
        let done = bring(folder.path(), &to, known.as_deref()).unwrap();
        let word = match done {
            Copied::Whole { .. } => "whole",
            Copied::Present => "present",
            Copied::Differs => "differs",
        };
        assert_eq!(
            (word, fs::read_to_string(&to).unwrap().as_str()),
            (expected, after)
        );
        assert_eq!(fs::read_dir(folder.path().join("to")).unwrap().count(), 1);
    }

    #[test]
    fn every_case_of_what_may_be_there() {
        check("new", None, false, "whole", "new");
        check("same", Some("same"), true, "present", "same");
        check("same", Some("same"), false, "whole", "same");
        check("grown since", Some("grown"), true, "whole", "grown since");
        check("half", Some("half of it"), true, "differs", "half of it");
        check("abcd", Some("abcx"), true, "differs", "abcx");
    }

    #[test]
    fn a_copy_that_went_bad_is_not_taken_for_good() {
        let folder = tempfile::tempdir().unwrap();
        let (from, to) = (folder.path().join("from"), folder.path().join("file"));
        fs::write(&from, "abcd").unwrap();
        fs::write(&to, "abcX").unwrap();
        let known = sum(&from).unwrap();
        let error = bring(folder.path(), &to, Some(&known))
            .unwrap_err()
            .to_string();
        assert!(error.contains("not what was copied"), "{error}");
        assert_eq!(fs::read_to_string(&to).unwrap(), "abcX");
    }

    #[test]
    fn the_checksum_is_the_published_one() {
        // FIPS 180-4 example: SHA-256 of "abc".
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("abc");
        fs::write(&path, "abc").unwrap();
        assert_eq!(
            sum(&path).unwrap(),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }
}
