//! What is to be done about one file.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

use anyhow::{Context as _, Result, bail};
use jumpseat_log::form::hex;
use sha2::{Digest as _, Sha256};

use super::find::SourceFile;
use super::keeper::Task;
use super::source::{Source, Wanted};
use super::watch::Watch;
use crate::home::name_of;

/// What is to be done about a file.
#[derive(Debug)]
pub(super) enum Plan {
    /// It is here.
    Present,
    /// It is here and was not known to be right; its checksum is that of the source.
    Proven { sum: String },
    /// Another file of that name is here, no shorter than this; it is kept.
    Differs,
    /// What is missing of it is to be fetched.
    Fetch(Task),
}

/// Finds out what is to be done about a file of the source that belongs to `to`.
/// `known` is the checksum that a former pull noted.
///
/// A longer file replaces a shorter one: the recorder was still writing it when
/// it was pulled. Whatever else differs is kept as it is in the library.
pub(super) fn plan(
    source: &mut dyn Source,
    file: &SourceFile,
    to: &Path,
    known: Option<&str>,
    verify: bool,
    watch: &Watch<'_>,
) -> Result<Plan> {
    let part = part(to, file);
    let have = fs::metadata(&part).map_or(0, |part| part.len());
    let copy = fs::metadata(to).ok();
    // A part that is whole was about to get its name.
    if let Some(copy) = copy.filter(|copy| have != file.bytes || copy.len() >= have) {
        let same =
            copy.len() == file.bytes && copy.modified().ok() == file.modified && known.is_some();
        if same && !verify {
            watch.add(file.bytes);
            return Ok(Plan::Present);
        }
        let here = sum(to)?;
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
                Plan::Present
            } else {
                Plan::Proven { sum: here }
            });
        }
        if copy.len() >= file.bytes {
            return Ok(Plan::Differs);
        }
    }
    let folder = to.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder).with_context(|| cannot("make", folder))?;
    let too_long = have > file.bytes;
    if too_long {
        fs::remove_file(&part).with_context(|| cannot("remove", &part))?;
    }
    Ok(Plan::Fetch(Task {
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

/// A hidden name for the file while it is not whole. Length and time of the source
/// are in it: what was fetched of another state of the file is not gone on with.
fn part(to: &Path, file: &SourceFile) -> PathBuf {
    let time = file
        .modified
        .and_then(|time| time.duration_since(UNIX_EPOCH).ok())
        .map_or(0, |time| time.as_nanos());
    to.with_file_name(format!(".{}.{}-{time}.part", name_of(to), file.bytes))
}

/// Removes what former pulls left of other states of files in the folders of these.
pub(super) fn remove_others<'a>(tasks: impl Iterator<Item = &'a Task>) -> Result<()> {
    let parts: BTreeSet<&Path> = tasks.map(|task| task.part.as_path()).collect();
    let folders: BTreeSet<&Path> = parts.iter().filter_map(|part| part.parent()).collect();
    for folder in folders {
        for entry in fs::read_dir(folder).with_context(|| cannot("list", folder))? {
            let path = entry.with_context(|| cannot("list", folder))?.path();
            let name = name_of(&path);
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
    File::options()
        .append(true)
        .open(path)
        .and_then(|file| file.set_modified(modified))
        .with_context(|| cannot("set the time of", path))
}

/// The checksum of the source's file.
fn sum_there(source: &mut dyn Source, file: &SourceFile, watch: &Watch<'_>) -> Result<String> {
    let mut digest = Sha256::new();
    let wanted = Wanted {
        path: file.path.clone(),
        from: 0,
        length: file.bytes,
    };
    source.fetch(&[wanted], &mut |_, piece| {
        digest.update(&piece);
        watch.add(piece.len() as u64);
        watch.tell()
    })?;
    Ok(hex(&digest.finalize()))
}

/// The checksum of a file here.
pub(super) fn sum(path: &Path) -> Result<String> {
    let mut file = File::open(path).with_context(|| cannot("read", path))?;
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
    use super::super::folder::Folder;
    use super::*;

    /// What is to be done about `from` of a folder, in a word; `to` is its place.
    fn plan_of(folder: &Path, to: &Path, known: Option<&str>) -> Result<&'static str> {
        let data = fs::metadata(folder.join("from")).unwrap();
        let file = SourceFile {
            path: "from".into(),
            name: "from".into(),
            bytes: data.len(),
            modified: data.modified().ok(),
        };
        let watch = Watch::new(0, &|_| Ok(()));
        let done = plan(&mut Folder::new(folder), &file, to, known, true, &watch)?;
        Ok(match done {
            Plan::Proven { .. } => "proven",
            Plan::Present => "present",
            Plan::Differs => "differs",
            Plan::Fetch(_) => "fetch",
        })
    }

    /// Source, copy (None: not there), noted checksum is the copy's.
    #[track_caller]
    fn check(source: &str, here: Option<&str>, noted: bool, expected: &str) {
        let folder = tempfile::tempdir().unwrap();
        let (from, to) = (folder.path().join("from"), folder.path().join("to/file"));
        fs::write(&from, source).unwrap();
        let mut known = None;
        if let Some(here) = here {
            fs::create_dir(folder.path().join("to")).unwrap();
            fs::write(&to, here).unwrap();
            known = noted.then(|| sum(&to).unwrap());
        }
        let done = plan_of(folder.path(), &to, known.as_deref()).unwrap();
        assert_eq!(done, expected, "{source} {here:?}");
        assert_eq!(fs::read_to_string(&to).ok().as_deref(), here);
    }

    #[test]
    fn every_case_of_what_may_be_there() {
        check("new", None, false, "fetch");
        check("same", Some("same"), true, "present");
        check("same", Some("same"), false, "proven");
        check("grown since", Some("grown"), true, "fetch");
        check("half", Some("half of it"), true, "differs");
        check("abcd", Some("abcx"), true, "differs");
    }

    #[test]
    fn a_copy_that_went_bad_is_not_taken_for_good() {
        let folder = tempfile::tempdir().unwrap();
        let (from, to) = (folder.path().join("from"), folder.path().join("file"));
        fs::write(&from, "abcd").unwrap();
        fs::write(&to, "abcX").unwrap();
        let known = sum(&from).unwrap();
        let error = plan_of(folder.path(), &to, Some(&known))
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
