//! The list of files to judge on.

use std::fs;
use std::path::Path;

use anyhow::{Context, Result};
use serde::Deserialize;

/// One file of the set.
#[derive(Debug, Deserialize)]
pub(crate) struct JudgingItem {
    /// Path inside the folder.
    pub(crate) file: String,
    /// Voices: `debian`, `flite`, …; `noise` and `talk` for files without a sign.
    pub(crate) family: String,
    /// Channel: `clean`, `20`, …
    pub(crate) condition: String,
    /// The sign that is said, if one is.
    pub(crate) sign: Option<String>,
    /// The report that is said, if one is.
    #[serde(default)]
    pub(crate) report: Option<String>,
}

impl JudgingItem {
    /// Whether it is noise, or talk in which nobody says a sign.
    pub(crate) fn is_without_sign(&self) -> bool {
        self.sign.is_none() && self.report.is_none()
    }
}

/// Reads FOLDER/set.json.
pub(crate) fn read(folder: &Path) -> Result<Vec<JudgingItem>> {
    let path = folder.join("set.json");
    let text = fs::read_to_string(&path)
        .with_context(|| format!("{}: make the set with judge.py first", path.display()))?;
    serde_json::from_str(&text).with_context(|| format!("{} is no list of files", path.display()))
}
