//! Folders that are still there after a power cut.

use std::fs;
use std::path::Path;

use crate::{LogError, sync_folder};

/// Makes a folder, and those that it lies in, so that a crash does not take them away
/// with what is in them. Does nothing where it is there.
///
/// # Errors
/// When one of them cannot be made, or the folder around it cannot be synced.
pub fn make_folder(folder: &Path) -> Result<(), LogError> {
    if folder.is_dir() {
        return Ok(());
    }
    let around = match folder.parent() {
        Some(around) if !around.as_os_str().is_empty() => around,
        _ => Path::new("."),
    };
    if around != folder {
        make_folder(around)?;
    }
    match fs::create_dir(folder) {
        // Another program made it just now.
        Err(_) if folder.is_dir() => {}
        made => made.map_err(LogError::io(folder, "create the folder"))?,
    }
    sync_folder(around)
}
