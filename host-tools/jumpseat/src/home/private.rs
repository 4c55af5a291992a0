//! A home is its owner's alone: where a person was and whom they talked to is in it.
//!
//! New folders and files are made so. Those of earlier versions are made so when their
//! owner uses them; what belongs to somebody else, and a folder that is shared on purpose
//! (with its group or sticky bit set), stays as it is. A folder that holds other things
//! too keeps its rights, and what is ours in it does not.

use super::HomeFolder;

/// Makes a home that is there already its owner's alone. File systems without rights
/// refuse it, and nothing is lost by that.
#[cfg(not(unix))]
pub(super) fn tighten(_: &HomeFolder) {}

/// Makes a home that is there already its owner's alone. File systems without rights
/// refuse it, and nothing is lost by that.
#[cfg(unix)]
pub(super) fn tighten(home: &HomeFolder) {
    unix::tighten(home);
}

#[cfg(unix)]
mod unix {
    use std::fs::{self, Metadata, Permissions};
    use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _};
    use std::path::Path;

    use jumpseat_logbook::backup_folder;

    use crate::home::{HomeFolder, file_name};

    /// Set-group and sticky bit.
    const SHARED: u32 = 0o3000;
    /// What group and others may do.
    const OTHERS: u32 = 0o077;
    /// Names of ours in a home; others may begin with these.
    const OURS: [&str; 7] = [
        "logbook",
        "trips",
        "heard",
        "review",
        "exports",
        "station.toml",
        ".jumpseat-",
    ];

    pub(super) fn tighten(home: &HomeFolder) {
        let me = rustix::process::geteuid().as_raw();
        let Ok(data) = fs::metadata(home.dir()) else {
            return;
        };
        if !data.is_dir() || data.uid() != me || data.mode() & SHARED != 0 {
            return;
        }
        let Ok(listing) = fs::read_dir(home.dir()) else {
            return;
        };
        let names: Vec<String> = listing
            .flatten()
            .map(|entry| file_name(&entry.path()))
            .collect();
        let ours = |name: &String| OURS.iter().any(|ours| name.starts_with(ours));
        // Any folder can be given for a home by mistake.
        let is_home = names.iter().any(ours);
        if is_home && (!home.given || names.iter().all(ours)) {
            close(home.dir(), &data);
        }
        let logbook = home.logbook_file();
        for name in names.iter().filter(|name| name.starts_with("logbook")) {
            close_own(&home.dir().join(name), me);
        }
        for folder in [home.trips(), home.heard(), backup_folder(&logbook)] {
            close_own(&folder, me);
        }
        for entry in fs::read_dir(backup_folder(&logbook))
            .into_iter()
            .flatten()
            .flatten()
        {
            close_own(&entry.path(), me);
        }
    }

    /// Closes what is a file or folder of this user, and no link.
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
