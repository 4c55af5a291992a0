//! Makes a home private: it shows where a person was and whom they talked to.
//!
//! New folders and files are made private. Those of earlier versions become private when
//! their owner uses them. What belongs to somebody else, and a folder that is shared on
//! purpose (with its set-group or sticky bit), stays as it is. A folder that holds other
//! things too keeps its rights; only our own files in it become private.

use std::path::{Path, PathBuf};

/// The parts of a home that are to be private.
pub(super) struct HomePaths<'a> {
    /// The home itself.
    pub(super) dir: &'a Path,
    /// The person gave it on the command line.
    pub(super) given: bool,
    /// The logbook's file.
    pub(super) logbook: PathBuf,
    /// Other folders of ours.
    pub(super) folders: Vec<PathBuf>,
}

/// Makes an existing home private. A file system without rights refuses, which does no harm.
#[cfg(not(unix))]
pub(super) fn tighten(_: &HomePaths<'_>) {}

/// Makes an existing home private. A file system without rights refuses, which does no harm.
#[cfg(unix)]
pub(super) fn tighten(home: &HomePaths<'_>) {
    unix::tighten(home);
}

#[cfg(unix)]
mod unix {
    use std::fs::{self, Metadata, Permissions};
    use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _};
    use std::path::Path;

    use jumpseat_files::file_name;
    use jumpseat_logbook::backup_folder;

    use super::HomePaths;

    /// Set-group and sticky bit.
    const SHARED: u32 = 0o3000;
    /// The rights of group and others.
    const OTHERS: u32 = 0o077;
    /// Our names in a home, or how they begin.
    const OURS: [&str; 7] = [
        "logbook",
        "trips",
        "heard",
        "review",
        "exports",
        "station.toml",
        ".jumpseat-",
    ];

    pub(super) fn tighten(home: &HomePaths<'_>) {
        let me = rustix::process::geteuid().as_raw();
        let Ok(data) = fs::metadata(home.dir) else {
            return;
        };
        if !data.is_dir() || data.uid() != me || data.mode() & SHARED != 0 {
            return;
        }
        let Ok(listing) = fs::read_dir(home.dir) else {
            return;
        };
        let names: Vec<String> = listing
            .flatten()
            .map(|entry| file_name(&entry.path()))
            .collect();
        let ours = |name: &String| OURS.iter().any(|ours| name.starts_with(ours));
        // A person may give any folder as a home by mistake.
        let is_home = names.iter().any(ours);
        if is_home && (!home.given || names.iter().all(ours)) {
            close(home.dir, &data);
        }
        for name in names.iter().filter(|name| name.starts_with("logbook")) {
            close_own(&home.dir.join(name), me);
        }
        let backups = backup_folder(&home.logbook);
        for folder in home.folders.iter().chain([&backups]) {
            close_own(folder, me);
        }
        for entry in fs::read_dir(&backups).into_iter().flatten().flatten() {
            close_own(&entry.path(), me);
        }
    }

    /// Makes a file or folder of this user private; leaves links alone.
    fn close_own(path: &Path, me: u32) {
        if let Ok(data) = fs::symlink_metadata(path)
            && (data.is_file() || data.is_dir())
            && data.uid() == me
        {
            close(path, &data);
        }
    }

    fn close(path: &Path, data: &Metadata) {
        let mode = data.mode() & 0o7777;
        if mode & OTHERS != 0 {
            // A file system without rights refuses.
            let _ = fs::set_permissions(path, Permissions::from_mode(mode & !OTHERS));
        }
    }
}
