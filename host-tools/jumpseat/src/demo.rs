//! The demo drive, which is part of the program.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, anyhow, bail};
use include_dir::{Dir, include_dir};
use serde::Deserialize;

static DEMO_DRIVE: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/demo");

const TRUTH_FILE: &str = "truth.json";

/// What was really said on the drive, as far as the demo needs it.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct DemoTruth {
    pub(crate) contacts: Vec<SpokenContact>,
}

/// A contact of the drive.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct SpokenContact {
    pub(crate) call: String,
    /// Seconds since the start of the drive.
    pub(crate) on_s: f64,
    pub(crate) off_s: f64,
    pub(crate) sent: Option<String>,
    pub(crate) received: Option<String>,
    pub(crate) name: Option<String>,
}

/// Writes the drive's trip folder into `folder`, as it would be on a card. Returns its path
/// and the truth.
pub(crate) fn unpack(folder: &Path) -> Result<(PathBuf, DemoTruth)> {
    let (trip, truth) = find(&DEMO_DRIVE)?;
    let to = folder.join(trip.path());
    write(trip, folder)?;
    Ok((to, truth))
}

fn find<'a>(drive: &'a Dir<'a>) -> Result<(&'a Dir<'a>, DemoTruth)> {
    let nothing = || {
        anyhow!(
            "this build contains no demo drive. Make one from the top of the tree with `cargo run \
             --release -p jumpseat-simulator --bin drive -- demo --out host-tools/jumpseat/demo`, \
             then build again"
        )
    };
    let trip = drive
        .dirs()
        .find(|dir| dir.path().to_string_lossy().starts_with("trip-"))
        .ok_or_else(nothing)?;
    let truth = drive.get_file(TRUTH_FILE).ok_or_else(nothing)?;
    let truth = serde_json::from_slice(truth.contents())
        .context("the demo drive's truth cannot be read; this build is broken")?;
    Ok((trip, truth))
}

fn write(dir: &Dir<'_>, folder: &Path) -> Result<()> {
    let here = folder.join(dir.path());
    fs::create_dir_all(&here).with_context(|| {
        format!(
            "cannot make {}; choose another folder with --into DIR",
            here.display()
        )
    })?;
    for file in dir.files() {
        let to = folder.join(file.path());
        let same = fs::read(&to).is_ok_and(|old| old == file.contents());
        if !same {
            fs::write(&to, file.contents())
                .with_context(|| format!("cannot write {}", to.display()))?;
        }
    }
    for dir in dir.dirs() {
        write(dir, folder)?;
    }
    Ok(())
}

/// Refuses a folder that is neither new nor empty nor that of an earlier demo.
pub(crate) fn check_demo_folder(folder: &Path, own: &str) -> Result<()> {
    let Ok(mut listing) = fs::read_dir(folder) else {
        if folder.exists() {
            bail!(
                "{} is not a folder; choose another with --into DIR",
                folder.display()
            );
        }
        return Ok(());
    };
    if listing.next().is_some() && !folder.join(own).is_dir() {
        bail!(
            "{} contains other files; choose another folder with --into DIR",
            folder.display()
        );
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use include_dir::{DirEntry, File};

    #[test]
    fn a_build_without_the_drive_says_how_to_make_it() {
        let entries = [DirEntry::File(File::new("README.md", b"text"))];
        let error = find(&Dir::new("", &entries)).unwrap_err().to_string();
        assert!(error.contains("drive -- demo"), "{error}");
    }

    #[test]
    fn a_folder_with_other_things_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        check_demo_folder(folder.path(), "card").unwrap();
        check_demo_folder(&at("new"), "card").unwrap();
        fs::write(at("letter"), "").unwrap();
        check_demo_folder(folder.path(), "card").unwrap_err();
        check_demo_folder(&at("letter"), "card").unwrap_err();
        fs::create_dir(at("card")).unwrap();
        check_demo_folder(folder.path(), "card").unwrap();
    }
}
