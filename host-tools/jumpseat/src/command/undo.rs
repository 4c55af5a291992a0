//! `jumpseat undo`.

use anyhow::Result;
use clap::Args;
use jumpseat_logbook::{LogbookAction, LogbookError};
use jumpseat_values::display::count;

use super::arguments::whole_number;
use crate::home::HomeFolder;
use crate::outcome::CommandOutcome;
use crate::print;
use crate::table::TextTable;

/// Undoes the newest action, or the one that is given: an import, a draft, a confirmation, a
/// correction, or an undo.
#[derive(Debug, Args)]
pub(crate) struct UndoCommand {
    /// The action's number, as --list shows it [default: the newest that is not undone]
    #[arg(value_name = "ACTION", conflicts_with = "list", value_parser = whole_number::<i64>)]
    action: Option<i64>,
    /// List what was done, the newest first, and change nothing
    #[arg(long)]
    list: bool,
    /// With --list: this many actions
    #[arg(long, value_name = "COUNT", default_value_t = 20, requires = "list", value_parser = whole_number::<u32>)]
    last: u32,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

impl UndoCommand {
    pub(super) fn run(self, home: &HomeFolder) -> Result<CommandOutcome> {
        if self.list {
            let logbook = home.logbook_read_only()?;
            let actions = match &logbook {
                Some(logbook) => logbook.actions(self.last)?,
                None => Vec::new(),
            };
            if self.json {
                print::json(&actions)?;
            } else if actions.is_empty() {
                print::line("Nothing has been done in the logbook yet.")?;
            } else {
                print::text(&table(&actions))?;
            }
            return Ok(CommandOutcome::Done);
        }
        let mut logbook = home.logbook_if_any()?.ok_or(LogbookError::NoAction {
            action: self.action,
        })?;
        let undone = logbook.undo(self.action)?;
        if self.json {
            print::json(&undone)?;
            return Ok(CommandOutcome::Done);
        }
        print::line(&format!(
            "Undone: {} ({})",
            undone.undone.what,
            count(undone.entries.len(), "entry", "entries")
        ))?;
        print::line(&format!(
            "`{} undo {}` redoes it.",
            home.command(),
            undone.action
        ))?;
        Ok(CommandOutcome::Done)
    }
}

fn table(actions: &[LogbookAction]) -> String {
    let mut table = TextTable::new(&["No", "UTC", "Undone by", "What"]);
    for action in actions {
        let at = action.at.get(..19).unwrap_or(&action.at).replace('T', " ");
        let by = action.undone_by.map(|by| by.to_string());
        table.row(vec![
            action.action.to_string(),
            at,
            by.unwrap_or_else(|| "-".to_owned()),
            action.what.clone(),
        ]);
    }
    table.text()
}
