//! One file, copied and proven.

use std::fs::{self, File};
use std::io::{self, Read as _, Write as _};
use std::path::Path;

use anyhow::{Context as _, Result, bail};
use sha2::{Digest as _, Sha256};

use crate::text::hex;

use super::{part, sync};

/// What became of a file.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Copied {
    /// It was copied; the copy's checksum is that of the source.
    Whole { sum: String, bytes: u64 },
    /// The same file was there already.
    Present,
    /// Another file of that name was there, no shorter than this; it was kept.
    Differs,
}

/// Brings `from` to `to`. `known` is the checksum that a former pull noted.
///
/// A longer file replaces a shorter one: the recorder was still writing it when
/// it was pulled. Whatever else differs is kept as it is in the library.
pub(super) fn copy(from: &Path, to: &Path, known: Option<&str>, verify: bool) -> Result<Copied> {
    let source = fs::metadata(from).with_context(|| cannot("read", from))?;
    if let Ok(copy) = fs::metadata(to) {
        let same = copy.len() == source.len()
            && copy.modified().ok() == source.modified().ok()
            && known.is_some();
        if same && !verify {
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
        if here == sum(from)? {
            // From an interrupted pull, or from elsewhere: it is proven now.
            return Ok(if known.is_some() {
                Copied::Present
            } else {
                Copied::Whole {
                    sum: here,
                    bytes: copy.len(),
                }
            });
        }
        if copy.len() >= source.len() {
            return Ok(Copied::Differs);
        }
    }
    let folder = to.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder).with_context(|| cannot("make", folder))?;
    let part = part(to);
    let (read, bytes) = write(from, &part)?;
    let written = sum(&part)?;
    if read != written {
        bail!(
            "the copy of {} does not read back as it was written; check the disk of {}",
            from.display(),
            folder.display()
        );
    }
    fs::rename(&part, to).with_context(|| cannot("name", to))?;
    sync(folder)?;
    Ok(Copied::Whole { sum: read, bytes })
}

/// Copies and syncs; gives the checksum of what was read.
fn write(from: &Path, to: &Path) -> Result<(String, u64)> {
    let mut source = File::open(from).with_context(|| cannot("read", from))?;
    let modified = source.metadata().and_then(|data| data.modified());
    let mut target = File::create(to).with_context(|| cannot("write", to))?;
    let mut digest = Sha256::new();
    let mut bytes = 0;
    let mut buffer = vec![0_u8; 1 << 20];
    loop {
        let count = fill(&mut source, &mut buffer).with_context(|| cannot("read", from))?;
        if count == 0 {
            break;
        }
        digest.update(&buffer[..count]);
        target
            .write_all(&buffer[..count])
            .with_context(|| cannot("write", to))?;
        bytes += count as u64;
    }
    if let Ok(modified) = modified {
        target
            .set_modified(modified)
            .with_context(|| cannot("set the time of", to))?;
    }
    target.sync_all().with_context(|| cannot("sync", to))?;
    Ok((hex(&digest.finalize()), bytes))
}

/// The checksum of a file.
fn sum(path: &Path) -> Result<String> {
    let mut file = File::open(path).with_context(|| cannot("read", path))?;
    let mut digest = Sha256::new();
    let mut buffer = vec![0_u8; 1 << 20];
    loop {
        let count = fill(&mut file, &mut buffer).with_context(|| cannot("read", path))?;
        if count == 0 {
            return Ok(hex(&digest.finalize()));
        }
        digest.update(&buffer[..count]);
    }
}

/// Reads once, trying again when a signal came in between.
fn fill(file: &mut File, buffer: &mut [u8]) -> io::Result<usize> {
    loop {
        match file.read(buffer) {
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            done => return done,
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
    use super::*;

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
        let done = copy(&from, &to, known.as_deref(), true).unwrap();
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
        let error = copy(&from, &to, Some(&known), true)
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
