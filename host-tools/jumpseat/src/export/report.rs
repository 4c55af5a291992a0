//! What an export reports.

use std::path::PathBuf;

use anyhow::Result;
use jumpseat_values::display::count;
use serde::Serialize;

use crate::print;

/// What an export wrote, and what it left out.
#[derive(Debug, Default, Serialize)]
pub(crate) struct ExportReport {
    pub(super) format: &'static str,
    /// `None` when nothing was written.
    pub(crate) file: Option<PathBuf>,
    /// Numbers of the entries in the file.
    pub(crate) entries: Vec<i64>,
    pub(super) doubts: Vec<String>,
    /// Drafts that were chosen and left out.
    pub(super) drafts_left_out: usize,
    /// Entries that changed since they were exported, and were not exported again.
    pub(super) changed_since: Vec<i64>,
    /// Why nothing was written.
    pub(super) nothing: Option<String>,
}

impl ExportReport {
    pub(super) fn print(&self) -> Result<()> {
        if let Some(file) = &self.file {
            let many = count(self.entries.len(), "contact", "contacts");
            print::line(&format!("{}: {many}", file.display()))?;
        }
        for note in self.notes() {
            print::line(&note)?;
        }
        Ok(())
    }

    /// What a person should know, one sentence each.
    pub(crate) fn notes(&self) -> Vec<String> {
        let mut notes: Vec<String> = self.nothing.iter().cloned().collect();
        notes.extend(self.doubts.iter().map(|doubt| format!("doubt: {doubt}")));
        if self.drafts_left_out > 0 {
            let left = count(
                self.drafts_left_out,
                "draft was left out",
                "drafts were left out",
            );
            notes.push(format!("{left}: only confirmed contacts are exported"));
        }
        // A contact that was corrected after its export is not exported again automatically.
        if !self.changed_since.is_empty() {
            notes.push(format!(
                "Changed since they were exported, and not exported again: {}. Use --trip or \
                 --all to export them too",
                join_numbers(&self.changed_since)
            ));
        }
        notes
    }
}

/// Numbers in one line.
pub(super) fn join_numbers(numbers: &[i64]) -> String {
    let numbers: Vec<String> = numbers.iter().map(ToString::to_string).collect();
    numbers.join(", ")
}
