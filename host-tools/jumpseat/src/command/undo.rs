//! `jumpseat undo`.

use anyhow::Result;
use clap::Args;
use jumpseat_logbook::{Action, LogError};
use jumpseat_values::display::count;

use super::whole;
use crate::home::Home;
use crate::outcome::Outcome;
use crate::print;
use crate::table::Table;

/// Takes back the newest action, or the one named: an import, a draft, a confirmation,
/// a correction, and an undo as well.
#[derive(Debug, Args)]
pub(crate) struct Undo {
    /// The action's number, as --list shows it [default: the newest that is not undone]
    #[arg(value_name = "ACTION", conflicts_with = "list", value_parser = whole::<i64>)]
    action: Option<i64>,
    /// Lists what was done, the newest first, and changes nothing
    #[arg(long)]
    list: bool,
    /// With --list: so many actions
    #[arg(long, value_name = "COUNT", default_value_t = 20, requires = "list", value_parser = whole::<u32>)]
    last: u32,
    /// Prints JSON
    #[arg(long)]
    json: bool,
}

impl Undo {
    pub(super) fn run(self, home: &Home) -> Result<Outcome> {
        if self.list {
            let logbook = home.logbook_to_look()?;
            let actions = match &logbook {
                Some(logbook) => logbook.actions(self.last)?,
                None => Vec::new(),
            };
            if self.json {
                print::json(&actions)?;
            } else if actions.is_empty() {
                print::line("Nothing was done in the logbook yet.")?;
            } else {
                print::text(&table(&actions))?;
            }
            return Ok(Outcome::Done);
        }
        let mut logbook = home.logbook_if_any()?.ok_or(LogError::NoAction {
            action: self.action,
        })?;
        let undone = logbook.undo(self.action)?;
        if self.json {
            print::json(&undone)?;
            return Ok(Outcome::Done);
        }
        print::line(&format!(
            "Undone: {} ({})",
            undone.undone.what,
            count(undone.entries.len(), "entry", "entries")
        ))?;
        print::line(&format!(
            "`{} undo {}` does it again.",
            home.command(),
            undone.action
        ))?;
        Ok(Outcome::Done)
    }
}

fn table(actions: &[Action]) -> String {
    let mut table = Table::new(&["No", "UTC", "Undone by", "What"]);
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
