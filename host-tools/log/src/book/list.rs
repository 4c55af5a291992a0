//! Entries, one or many.

use rusqlite::{Connection, Row};

use std::path::Path;

use super::{Entry, Logbook, database, from_json};
use crate::LogError;

/// Which entries.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Filter<'a> {
    /// All of them.
    All,
    /// Those of a trip.
    Trip(&'a str),
    /// Those that a person confirmed.
    Confirmed,
    /// Those that a person confirmed and that no export in this format holds.
    New(&'a str),
    /// Those that were changed after an export in this format took them out.
    ChangedSinceExport(&'a str),
    /// One, by its number.
    Number(i64),
}

const COLUMNS: &str = "SELECT entries.number, entries.trip, drafts.data, contacts.data,
     coalesce(contacts.revision, 0)
     FROM entries LEFT JOIN drafts USING (number) LEFT JOIN contacts USING (number)";

/// A confirmed time counts for the order; then the place in the trip.
const ORDER: &str = " ORDER BY coalesce(contacts.on_utc, drafts.data ->> '$.on.value') NULLS LAST,
     entries.trip, drafts.on_s, entries.number";

type Raw = (i64, Option<String>, Option<String>, Option<String>, i64);

impl Logbook {
    /// Entries in order of time.
    pub fn entries(&self, filter: &Filter<'_>) -> Result<Vec<Entry>, LogError> {
        entries(&self.connection, &self.path, filter)
    }

    /// One entry.
    pub fn entry(&self, number: i64) -> Result<Entry, LogError> {
        self.entries(&Filter::Number(number))?
            .pop()
            .ok_or(LogError::NoEntry { number })
    }

    /// How many entries of a trip there are, and how many of them are confirmed.
    pub fn count(&self, trip: &str) -> Result<(u64, u64), LogError> {
        self.connection
            .query_row(
                "SELECT count(*), count(contacts.number) FROM entries
                 LEFT JOIN contacts USING (number) WHERE entries.trip = ?1",
                [trip],
                |row| Ok((row.get(0)?, row.get(1)?)),
            )
            .map_err(database(&self.path, "be read"))
    }
}

pub(super) fn entries(
    connection: &Connection,
    path: &Path,
    filter: &Filter<'_>,
) -> Result<Vec<Entry>, LogError> {
    let exported = "FROM exported JOIN exports ON exports.id = exported.export
         WHERE exported.number = entries.number AND exports.format = ?1";
    let condition = match filter {
        Filter::All => "?1 IS NULL".to_owned(),
        Filter::Trip(_) => "entries.trip = ?1".to_owned(),
        Filter::Confirmed => "?1 IS NULL AND contacts.number IS NOT NULL".to_owned(),
        Filter::New(_) => {
            format!("contacts.number IS NOT NULL AND NOT EXISTS (SELECT 1 {exported})")
        }
        Filter::ChangedSinceExport(_) => {
            format!("contacts.revision > (SELECT max(exported.revision) {exported})")
        }
        Filter::Number(_) => "entries.number = ?1".to_owned(),
    };
    let argument: rusqlite::types::Value = match filter {
        Filter::Trip(word) | Filter::New(word) | Filter::ChangedSinceExport(word) => {
            (*word).to_owned().into()
        }
        Filter::Number(number) => (*number).into(),
        _ => rusqlite::types::Value::Null,
    };
    let failed = database(path, "be read");
    let mut query = connection
        .prepare_cached(&format!("{COLUMNS} WHERE {condition}{ORDER}"))
        .map_err(&failed)?;
    let rows = query.query_map([argument], raw).map_err(&failed)?;
    let mut entries = Vec::new();
    for row in rows {
        let (number, trip, draft, contact, revision) = row.map_err(&failed)?;
        entries.push(Entry {
            number,
            trip,
            draft: draft
                .map(|text| from_json(&text, number, path))
                .transpose()?,
            contact: contact
                .map(|text| from_json(&text, number, path))
                .transpose()?,
            revision,
        });
    }
    Ok(entries)
}

fn raw(row: &Row<'_>) -> rusqlite::Result<Raw> {
    Ok((
        row.get(0)?,
        row.get(1)?,
        row.get(2)?,
        row.get(3)?,
        row.get(4)?,
    ))
}
