//! Files and folders that are opened or made without following links: a card or a home may
//! hold links, pipes and devices where a file is expected, and none of them is followed,
//! waited for or written through.

use std::fs::{self, File, OpenOptions};
use std::io;
use std::path::Path;

/// Opens an ordinary file for reading. A symbolic link in the place of the file
/// itself is not followed, and a pipe without a writer does not block; links among
/// the folders that lead to it are the caller's concern.
///
/// # Errors
/// Those of the system, and [`io::ErrorKind::InvalidInput`] where the path leads to
/// a link, a folder, a pipe, a socket or a device.
pub fn open_regular_file(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.read(true);
    forbid_links(&mut options);
    let file = match options.open(path) {
        Ok(file) => file,
        // Which error a link gives differs between systems.
        Err(error) => {
            return Err(match path.symlink_metadata() {
                Ok(data) if !data.is_file() => not_regular(),
                _ => error,
            });
        }
    };
    // Where the system cannot refuse a link, the look at the name does.
    let data = if cfg!(unix) {
        file.metadata()?
    } else {
        path.symlink_metadata()?
    };
    if data.is_file() {
        Ok(file)
    } else {
        Err(not_regular())
    }
}

/// Opens an ordinary file that a person named, for reading: a link to one is followed,
/// and whatever else it leads to is refused as in [`open_regular_file`].
///
/// # Errors
/// Those of [`open_regular_file`], and those of following the link.
pub fn open_given_file(path: &Path) -> io::Result<File> {
    match path.canonicalize() {
        Ok(whole) => open_regular_file(&whole),
        // Some drives of Windows have no such path.
        Err(error) if cfg!(unix) => Err(error),
        Err(_) => open_regular_file(path),
    }
}

/// Opens a regular file for reading and appending, and creates it if there is none. It does
/// not follow a link in its place, and does not wait for a pipe.
///
/// # Errors
/// Those of the system, and [`io::ErrorKind::InvalidInput`] for anything but a regular file.
pub fn open_to_append(path: &Path) -> io::Result<File> {
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

fn not_regular() -> io::Error {
    io::Error::new(
        io::ErrorKind::InvalidInput,
        "it is not an ordinary file (a link, folder, pipe or device)",
    )
}

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
mod tests {
    use std::io::Read as _;

    use super::*;

    #[test]
    fn an_ordinary_file_is_read() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("sound.wav");
        fs::write(&path, "abc").unwrap();
        let mut text = String::new();
        let mut file = open_regular_file(&path).unwrap();
        file.read_to_string(&mut text).unwrap();
        assert_eq!(text, "abc");
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn links_pipes_devices_and_folders_are_refused_at_once() {
        use rustix::fs::{CWD, Mode, mkfifoat};
        use std::os::unix::fs::symlink;
        let folder = tempfile::tempdir().unwrap();
        let path = |name: &str| folder.path().join(name);
        fs::write(path("file"), "abc").unwrap();
        symlink(path("file"), path("link")).unwrap();
        symlink("/dev/zero", path("endless")).unwrap();
        symlink(path("nothing"), path("dangling")).unwrap();
        mkfifoat(CWD, path("pipe"), Mode::RUSR | Mode::WUSR).unwrap();
        fs::create_dir(path("folder")).unwrap();
        for name in ["link", "endless", "dangling", "pipe", "folder"] {
            let error = open_regular_file(&path(name)).unwrap_err();
            assert_eq!(error.kind(), io::ErrorKind::InvalidInput, "{name}");
        }
        let missing = open_regular_file(&path("missing")).unwrap_err();
        assert_eq!(missing.kind(), io::ErrorKind::NotFound);
        // What a person names may be a link to a file, and to nothing else.
        open_given_file(&path("file")).unwrap();
        open_given_file(&path("link")).unwrap();
        for name in ["endless", "dangling", "pipe", "folder", "missing"] {
            open_given_file(&path(name)).unwrap_err();
        }
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn nothing_is_written_through_a_link_or_into_a_pipe() {
        use rustix::fs::{CWD, Mode, mkfifoat};
        use std::os::unix::fs::symlink;
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
