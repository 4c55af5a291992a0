//! Opens ordinary files only. A card may hold links, pipes and devices where a sound file
//! is expected; none of them is followed, waited for or written through.

use std::fs::{File, OpenOptions};
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

#[cfg(test)]
mod tests {
    use std::fs;
    use std::io::Read as _;

    use super::{open_given_file, open_regular_file};

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
        let folder = tempfile::tempdir().unwrap();
        let path = |name: &str| folder.path().join(name);
        fs::write(path("file"), "abc").unwrap();
        std::os::unix::fs::symlink(path("file"), path("link")).unwrap();
        std::os::unix::fs::symlink("/dev/zero", path("endless")).unwrap();
        std::os::unix::fs::symlink(path("nothing"), path("dangling")).unwrap();
        mkfifoat(CWD, path("pipe"), Mode::RUSR | Mode::WUSR).unwrap();
        fs::create_dir(path("folder")).unwrap();
        for name in ["link", "endless", "dangling", "pipe", "folder"] {
            let error = open_regular_file(&path(name)).unwrap_err();
            assert_eq!(error.kind(), std::io::ErrorKind::InvalidInput, "{name}");
        }
        let missing = open_regular_file(&path("missing")).unwrap_err();
        assert_eq!(missing.kind(), std::io::ErrorKind::NotFound);
        // What a person names may be a link to a file, and to nothing else.
        open_given_file(&path("file")).unwrap();
        open_given_file(&path("link")).unwrap();
        for name in ["endless", "dangling", "pipe", "folder", "missing"] {
            open_given_file(&path(name)).unwrap_err();
        }
    }
}
