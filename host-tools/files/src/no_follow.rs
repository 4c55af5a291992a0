//! Files and folders that are opened or made without following links.

use std::fs::{self, File, OpenOptions};
use std::io;
use std::path::Path;

/// Opens a regular file for reading and appending, and creates it if there is none. It does
/// not follow a link in its place, and does not wait for a pipe.
///
/// # Errors
/// Those of the system, and [`io::ErrorKind::InvalidInput`] for anything but a regular file.
pub fn open_to_append(path: &Path) -> io::Result<File> {
    let not_regular = || {
        io::Error::new(
            io::ErrorKind::InvalidInput,
            "it is not an ordinary file (a link, folder, pipe or device)",
        )
    };
    let found = path.symlink_metadata();
    if found.as_ref().is_ok_and(|data| !data.is_file()) {
        return Err(not_regular());
    }
    let mut options = OpenOptions::new();
    options.read(true).append(true);
    if found.is_err() {
        // Does not follow a link that appears in the meantime either.
        options.create_new(true);
    }
    forbid_links(&mut options);
    let file = options.open(path)?;
    if file.metadata()?.is_file() {
        Ok(file)
    } else {
        Err(not_regular())
    }
}

#[cfg(unix)]
fn forbid_links(options: &mut OpenOptions) {
    use std::os::unix::fs::OpenOptionsExt as _;
    let flags = rustix::fs::OFlags::NOFOLLOW | rustix::fs::OFlags::NONBLOCK;
    options.custom_flags(flags.bits() as i32);
}

#[cfg(not(unix))]
fn forbid_links(_: &mut OpenOptions) {}

/// Makes a folder in an existing one, unless it exists. A link in its place is an error,
/// wherever it leads.
///
/// # Errors
/// Those of the system, and [`io::ErrorKind::InvalidInput`] for anything but a folder.
pub fn make_folder_no_follow(path: &Path) -> io::Result<()> {
    match path.symlink_metadata() {
        Ok(data) if data.is_dir() => Ok(()),
        Ok(_) => Err(io::Error::new(
            io::ErrorKind::InvalidInput,
            "something other than a folder is in its place (a link or a file)",
        )),
        Err(_) => fs::create_dir(path),
    }
}

#[cfg(test)]
#[cfg(target_os = "linux")]
mod tests {
    use std::os::unix::fs::symlink;

    use rustix::fs::{CWD, Mode, mkfifoat};

    use super::*;

    #[test]
    fn nothing_is_written_through_a_link_or_into_a_pipe() {
        let folder = tempfile::tempdir().unwrap();
        let path = |name: &str| folder.path().join(name);
        fs::write(path("file"), "abc").unwrap();
        symlink(path("file"), path("link")).unwrap();
        symlink(path("nothing"), path("dangling")).unwrap();
        mkfifoat(CWD, path("pipe"), Mode::RUSR | Mode::WUSR).unwrap();
        fs::create_dir(path("folder")).unwrap();
        symlink(path("folder"), path("folder-link")).unwrap();
        for name in ["link", "dangling", "pipe", "folder"] {
            let error = open_to_append(&path(name)).unwrap_err();
            assert_eq!(error.kind(), io::ErrorKind::InvalidInput, "{name}");
        }
        for name in ["link", "dangling", "pipe", "file", "folder-link"] {
            make_folder_no_follow(&path(name)).unwrap_err();
        }
        assert!(!path("nothing").exists());
        for name in ["file", "new"] {
            open_to_append(&path(name)).unwrap();
        }
        for name in ["folder", "new-folder"] {
            make_folder_no_follow(&path(name)).unwrap();
        }
        assert_eq!(fs::read_to_string(path("file")).unwrap(), "abc");
    }
}
