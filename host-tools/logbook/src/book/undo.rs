//! Undoes one action at a time.

use rusqlite::{OptionalExtension as _, Row};
use serde::Serialize;

use super::action::{ActionWriter, EntryPart};
use super::{Logbook, database};
use crate::LogbookError;

/// An action of the history.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LogbookAction {
    /// Its number.
    pub action: i64,
    /// When, RFC 3339.
    pub at: String,
    /// "person", "draft" or "import".
    pub who: String,
    /// What it did, for people.
    pub what: String,
    /// The action that it undid.
    pub undoes: Option<i64>,
    /// The action that undid it.
    pub undone_by: Option<i64>,
}

/// What was undone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct UndoneAction {
    /// The action that was undone.
    pub undone: LogbookAction,
    /// The number of this action, which can be undone too.
    pub action: i64,
    /// Entries that it touched.
    pub entries: Vec<i64>,
}

const SELECT_ACTIONS: &str = "SELECT id, at_utc, who, what, undoes, undone_by FROM actions";

fn action(row: &Row<'_>) -> rusqlite::Result<LogbookAction> {
    Ok(LogbookAction {
        action: row.get(0)?,
        at: row.get(1)?,
        who: row.get(2)?,
        what: row.get(3)?,
        undoes: row.get(4)?,
        undone_by: row.get(5)?,
    })
}

struct UndoStep {
    number: i64,
    part: EntryPart,
    before: Option<String>,
    after: Option<String>,
}

impl Logbook {
    /// The newest actions, the newest first.
    pub fn actions(&self, most: u32) -> Result<Vec<LogbookAction>, LogbookError> {
        let failed = database(&self.path, "be read");
        let mut query = self
            .connection
            .prepare_cached(&format!("{SELECT_ACTIONS} ORDER BY id DESC LIMIT ?1"))
            .map_err(&failed)?;
        let rows = query.query_map([most], action).map_err(&failed)?;
        rows.collect::<Result<_, _>>().map_err(failed)
    }

    /// Undoes an action with all of its changes; without a number the newest one that is
    /// neither undone nor an undoing itself. If one of its entries was changed again since,
    /// nothing is done, and the error names the action to undo first.
    pub fn undo(&mut self, which: Option<i64>) -> Result<UndoneAction, LogbookError> {
        self.transaction("undo the action", |change, path| {
            let failed = database(path, "undo the action");
            let newest = "undone_by IS NULL AND undoes IS NULL ORDER BY id DESC LIMIT 1";
            let found = match which {
                Some(id) => change
                    .query_row(&format!("{SELECT_ACTIONS} WHERE id = ?1"), [id], action)
                    .optional(),
                None => change
                    .query_row(&format!("{SELECT_ACTIONS} WHERE {newest}"), [], action)
                    .optional(),
            };
            let undone = found
                .map_err(&failed)?
                .ok_or(LogbookError::NoAction { action: which })?;
            let id = undone.action;
            if let Some(by) = undone.undone_by {
                return Err(LogbookError::Undone { action: id, by });
            }
            let mut query = change
                .prepare(
                    "SELECT number, part, before, after FROM changes WHERE action = ?1
                     ORDER BY id DESC",
                )
                .map_err(&failed)?;
            let steps = query
                .query_map([id], |row| {
                    Ok(UndoStep {
                        number: row.get(0)?,
                        part: EntryPart::from_name(&row.get::<_, String>(1)?),
                        before: row.get(2)?,
                        after: row.get(3)?,
                    })
                })
                .and_then(|rows| rows.collect::<rusqlite::Result<Vec<UndoStep>>>())
                .map_err(&failed)?;
            let mut act = ActionWriter::begin(change, path, "person");
            let mut entries = Vec::new();
            for step in &steps {
                take_back(&mut act, step, id)?;
                entries.push(step.number);
            }
            entries.sort_unstable();
            entries.dedup();
            let action = act.id()?;
            // Undoing an undoing restores the first action.
            change
                .execute(
                    "UPDATE actions SET undone_by = ?2 WHERE id = ?1",
                    (id, action),
                )
                .and_then(|_| {
                    change.execute("UPDATE actions SET undoes = ?2 WHERE id = ?1", (action, id))
                })
                .and_then(|_| match undone.undoes {
                    Some(first) => {
                        change.execute("UPDATE actions SET undone_by = NULL WHERE id = ?1", [first])
                    }
                    None => Ok(0),
                })
                .map_err(&failed)?;
            act.finish(&format!("undid action {id}: {}", undone.what))?;
            Ok(UndoneAction {
                undone,
                action,
                entries,
            })
        })
    }
}

/// Restores a part, if it is still what the action made of it.
fn take_back(act: &mut ActionWriter<'_>, step: &UndoStep, id: i64) -> Result<(), LogbookError> {
    let now = act.current(step.number, step.part)?;
    let removes = step.part == EntryPart::Entry && step.before.is_none();
    let held = removes
        && (act.current(step.number, EntryPart::Draft)?.is_some()
            || act.current(step.number, EntryPart::Contact)?.is_some()
            || act.current(step.number, EntryPart::Review)?.is_some());
    let orphan = step.part != EntryPart::Entry
        && step.before.is_some()
        && act.current(step.number, EntryPart::Entry)?.is_none();
    if now != step.after || held || orphan {
        let this = act.id()?;
        let later = act.change.query_row(
            "SELECT max(action) FROM changes WHERE number = ?1 AND action > ?2 AND action < ?3",
            (step.number, id, this),
            |row| row.get::<_, Option<i64>>(0),
        );
        let later = later.map_err(database(act.path, "undo the action"))?;
        return Err(LogbookError::ChangedSince {
            action: id,
            number: step.number,
            later: later.unwrap_or(id),
        });
    }
    act.set(step.number, step.part, step.before.as_deref())
}
