//! Makes folders that survive a power cut.

use std::fs::DirBuilder;
use std::path::Path;

use crate::error::FileError;
use crate::sync::sync_folder;

/// Makes a folder and its parents, synced, so that a crash does not lose them with their
/// content. Does nothing if the folder exists.
///
/// # Errors
/// When one of them cannot be made, or the folder around it cannot be synced.
pub fn make_folder(folder: &Path) -> Result<(), FileError> {
    make(folder, &DirBuilder::new())
}

/// The same, readable for its owner only.
///
/// # Errors
/// As [`make_folder`].
pub fn make_private_folder(folder: &Path) -> Result<(), FileError> {
    make(folder, &private())
}

#[cfg(unix)]
fn private() -> DirBuilder {
    use std::os::unix::fs::DirBuilderExt as _;
    let mut builder = DirBuilder::new();
    builder.mode(0o700);
    builder
}

#[cfg(not(unix))]
fn private() -> DirBuilder {
    DirBuilder::new()
}

fn make(folder: &Path, builder: &DirBuilder) -> Result<(), FileError> {
    if folder.is_dir() {
        return Ok(());
    }
    let around = match folder.parent() {
        Some(around) if !around.as_os_str().is_empty() => around,
        _ => Path::new("."),
    };
    if around != folder {
        make(around, builder)?;
    }
    match builder.create(folder) {
        // Another program made it just now.
        Err(_) if folder.is_dir() => {}
        made => made.map_err(FileError::io(folder, "create the folder"))?,
    }
    sync_folder(around)
}
