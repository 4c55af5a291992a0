//! A trip's drafts, also when it is drafted again.

use rusqlite::Transaction;
use std::path::Path;

use super::list::entries;
use super::{Entry, Filter, Logbook, database, remember, to_json};
use crate::{Draft, LogError};

/// Two drafts with at least this share of their time in common are the same
/// contact, drafted twice.
const SAME: f64 = 0.3;

/// The doubt of a confirmed entry whose trip was drafted again without it.
const NOT_FOUND_AGAIN: &str = "the newest draft does not find this contact any more";

/// What became of a trip's drafts.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Stored {
    /// The number of each draft, in the order they were given.
    pub numbers: Vec<i64>,
    /// New entries.
    pub added: Vec<i64>,
    /// Entries whose draft differs from before.
    pub changed: Vec<i64>,
    /// Entries that nobody confirmed and that the new drafts do not hold.
    pub removed: Vec<i64>,
    /// Confirmed entries that the new drafts do not hold; they were kept.
    pub kept: Vec<i64>,
}

impl Logbook {
    /// Puts the drafts of a trip in the place of its former drafts. Each keeps
    /// its number where its time is much the same. What a person confirmed stays.
    pub fn store(&mut self, trip: &str, drafts: &[Draft]) -> Result<Stored, LogError> {
        self.whole("store the drafts", |change, path| {
            let old = entries(change, path, &Filter::Trip(trip))?;
            let pairs = pair(&old, drafts);
            let mut stored = Stored::default();
            for (index, draft) in drafts.iter().enumerate() {
                let old = pairs
                    .iter()
                    .find(|(_, new)| *new == index)
                    .and_then(|(was, _)| old.get(*was));
                put(change, path, trip, old, draft, &mut stored)?;
            }
            for (index, entry) in old.iter().enumerate() {
                if !pairs.iter().any(|(was, _)| *was == index) {
                    retire(change, path, entry, &mut stored)?;
                }
            }
            Ok(stored)
        })
    }
}

/// Indices of old entries and new drafts that are the same, the closest first.
fn pair(old: &[Entry], new: &[Draft]) -> Vec<(usize, usize)> {
    let mut likely: Vec<(f64, usize, usize)> = Vec::new();
    for (was, entry) in old.iter().enumerate() {
        let Some(draft) = &entry.draft else { continue };
        likely.extend(
            new.iter()
                .enumerate()
                .map(|(is, new)| (draft.overlap(new), was, is))
                .filter(|(overlap, ..)| *overlap >= SAME),
        );
    }
    likely.sort_by(|one, other| other.0.total_cmp(&one.0));
    let mut pairs: Vec<(usize, usize)> = Vec::new();
    for (_, was, is) in likely {
        if !pairs.iter().any(|pair| pair.0 == was || pair.1 == is) {
            pairs.push((was, is));
        }
    }
    pairs
}

fn put(
    change: &Transaction<'_>,
    path: &Path,
    trip: &str,
    old: Option<&Entry>,
    draft: &Draft,
    stored: &mut Stored,
) -> Result<(), LogError> {
    let failed = database(path, "store the drafts");
    let number = match old {
        Some(entry) => entry.number,
        None => {
            change
                .execute("INSERT INTO entries (trip) VALUES (?1)", [trip])
                .map_err(&failed)?;
            change.last_insert_rowid()
        }
    };
    stored.numbers.push(number);
    let before = match old {
        None => None,
        Some(entry) => match &entry.draft {
            Some(old) if old == draft => return Ok(()),
            Some(old) => Some(to_json(old, number, path)?),
            None => None,
        },
    };
    let after = to_json(draft, number, path)?;
    change
        .execute(
            "INSERT INTO drafts (number, on_s, data) VALUES (?1, ?2, ?3)
             ON CONFLICT (number) DO UPDATE SET on_s = excluded.on_s, data = excluded.data",
            (number, draft.on_s, &after),
        )
        .and_then(|_| remember(change, "draft", number, before.as_deref(), Some(&after)))
        .map_err(failed)?;
    if old.is_some() {
        stored.changed.push(number);
    } else {
        stored.added.push(number);
    }
    Ok(())
}

/// An entry that the new drafts do not hold.
fn retire(
    change: &Transaction<'_>,
    path: &Path,
    entry: &Entry,
    stored: &mut Stored,
) -> Result<(), LogError> {
    let Some(draft) = &entry.draft else {
        return Ok(());
    };
    let failed = database(path, "store the drafts");
    let before = to_json(draft, entry.number, path)?;
    if entry.contact.is_none() {
        change
            .execute("DELETE FROM entries WHERE number = ?1", [entry.number])
            .and_then(|_| remember(change, "draft", entry.number, Some(&before), None))
            .map_err(failed)?;
        stored.removed.push(entry.number);
        return Ok(());
    }
    stored.kept.push(entry.number);
    if draft.doubts.iter().any(|doubt| doubt == NOT_FOUND_AGAIN) {
        return Ok(());
    }
    let mut doubted = draft.clone();
    doubted.doubts.push(NOT_FOUND_AGAIN.to_owned());
    let after = to_json(&doubted, entry.number, path)?;
    change
        .execute(
            "UPDATE drafts SET data = ?2 WHERE number = ?1",
            (entry.number, &after),
        )
        .and_then(|_| remember(change, "draft", entry.number, Some(&before), Some(&after)))
        .map_err(failed)
}
