//! Passes the link to the review page to the browser in a file. Every user of the computer can
//! read a program's arguments, but only the owner can read the file.
//!
//! The file is in a new folder in the person's home folder, because browsers in a
//! sandbox (snap, flatpak) see neither hidden folders nor the system's temporary ones. It is
//! removed when the link is used and when the page ends; the file of a run that was killed is
//! removed when the next one starts.

use std::fs::{self, File, TryLockError};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result};
use tempfile::TempDir;

use crate::system;

/// The beginning of the folder's name.
const LINK_FOLDER_PREFIX: &str = "jumpseat-review-";
/// The file that the browser opens.
const LINK_PAGE: &str = "open.html";
/// A file that is locked while the run that made it continues.
const IN_USE: &str = "in-use";

/// The file, which is removed when the value is dropped.
#[derive(Debug)]
pub(crate) struct LinkFile {
    folder: TempDir,
    _in_use: File,
}

impl LinkFile {
    /// Writes a page that leads to a link, in a new folder in `place`. The link is one of ours
    /// and has no characters with a meaning in HTML.
    pub(crate) fn write(place: &Path, link: &str) -> Result<Self> {
        let cannot = |path: &Path| format!("cannot write {}", path.display());
        let folder =
            system::private_folder(place, LINK_FOLDER_PREFIX).with_context(|| cannot(place))?;
        let in_use = folder.path().join(IN_USE);
        let _in_use = File::create(&in_use).with_context(|| cannot(&in_use))?;
        _in_use.lock().with_context(|| cannot(&in_use))?;
        let path = folder.path().join(LINK_PAGE);
        let mut page = system::create_private(&path).with_context(|| cannot(&path))?;
        page.write_all(text(link).as_bytes())
            .with_context(|| cannot(&path))?;
        Ok(Self { folder, _in_use })
    }

    /// Its path.
    pub(crate) fn path(&self) -> PathBuf {
        self.folder.path().join(LINK_PAGE)
    }
}

/// A page that redirects to the link, with a link to click if the browser does not.
fn text(link: &str) -> String {
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"referrer\" content=\"no-referrer\">\n\
         <meta http-equiv=\"refresh\" content=\"0;url={link}\">\n\
         <title>Jumpseat</title>\n</head>\n<body>\n\
         <p><a href=\"{link}\">To the review page</a></p>\n</body>\n</html>\n"
    )
}

/// Removes what runs that were killed left in `place`. Other files in such a folder are kept,
/// and so is the folder.
pub(crate) fn clear(place: &Path) -> Result<()> {
    let cannot = |path: &Path| format!("cannot remove {}; remove it yourself", path.display());
    for entry in fs::read_dir(place).with_context(|| format!("cannot list {}", place.display()))? {
        let entry = entry.with_context(|| format!("cannot list {}", place.display()))?;
        let ours = entry
            .file_name()
            .to_string_lossy()
            .starts_with(LINK_FOLDER_PREFIX);
        let folder = entry.path();
        if !ours || !entry.file_type().is_ok_and(|kind| kind.is_dir()) || is_in_use(&folder) {
            continue;
        }
        for name in [LINK_PAGE, IN_USE] {
            let file = folder.join(name);
            gone(fs::remove_file(&file)).with_context(|| cannot(&file))?;
        }
        gone(fs::remove_dir(&folder)).with_context(|| cannot(&folder))?;
    }
    Ok(())
}

/// Whether the run that made it continues.
fn is_in_use(folder: &Path) -> bool {
    let lock = File::open(folder.join(IN_USE)).map(|file| file.try_lock());
    matches!(lock, Ok(Err(TryLockError::WouldBlock)))
}

/// Ignores that a file is gone already.
fn gone(removed: io::Result<()>) -> io::Result<()> {
    match removed {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LINK: &str = "http://127.0.0.1:4100/enter/0123?trip=trip-000001-3fa2c1";

    fn names(place: &Path) -> Vec<String> {
        let entries = fs::read_dir(place).unwrap();
        let names = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap());
        names.collect()
    }

    #[test]
    fn only_its_owner_reads_it_and_it_goes_with_the_value() {
        let place = tempfile::tempdir().unwrap();
        let file = LinkFile::write(place.path(), LINK).unwrap();
        let text = fs::read_to_string(file.path()).unwrap();
        assert!(text.contains(&format!("url={LINK}\"")), "{text}");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt as _;
            let rights = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
            assert_eq!(rights(&file.path()), 0o600);
            assert_eq!(rights(file.folder.path()), 0o700);
        }
        drop(file);
        assert!(names(place.path()).is_empty());
    }

    #[test]
    fn what_a_killed_run_left_goes_and_what_is_in_use_or_not_ours_stays() {
        let place = tempfile::tempdir().unwrap();
        let used = LinkFile::write(place.path(), LINK).unwrap();
        let left = place.path().join(format!("{LINK_FOLDER_PREFIX}left"));
        fs::create_dir(&left).unwrap();
        for name in [LINK_PAGE, IN_USE] {
            fs::write(left.join(name), LINK).unwrap();
        }
        fs::create_dir(place.path().join("jumpseat-demo")).unwrap();
        clear(place.path()).unwrap();
        assert!(!left.exists());
        assert!(used.path().exists());
        assert_eq!(names(place.path()).len(), 2);
        // A person's own file is never removed.
        fs::create_dir(&left).unwrap();
        fs::write(left.join("mine.txt"), "mine").unwrap();
        let error = clear(place.path()).unwrap_err().to_string();
        assert!(error.contains("remove it yourself"), "{error}");
        assert!(left.join("mine.txt").exists());
    }
}
