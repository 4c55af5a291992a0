//! Finds entries.

use std::path::Path;

use chrono::NaiveDate;
use rusqlite::types::Value;
use rusqlite::{Connection, Row, params_from_iter};

use super::{Logbook, database, from_json};
use crate::LogbookError;
use jumpseat_entries::Entry;

/// Which entries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum EntryFilter<'a> {
    /// All of them.
    #[default]
    All,
    /// Those of a trip.
    Trip(&'a str),
    /// Those that a person confirmed, or that came with an import.
    Confirmed,
    /// Drafts that nobody confirmed, without those that a person called no contact.
    Unconfirmed,
    /// Those that a person confirmed and that were not exported in this format yet.
    /// Imported ones are left out: they are in another log already.
    New(&'a str),
    /// Those that were changed after they were exported in this format.
    ChangedSinceExport(&'a str),
    /// One, by its number.
    Number(i64),
}

/// Which entries, narrowed down; a `None` does not restrict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct EntrySearch<'a> {
    /// Which of them.
    pub filter: EntryFilter<'a>,
    /// A part of the other station's call sign.
    pub call: Option<&'a str>,
    /// Band as the ADIF enumeration names it.
    pub band: Option<&'a str>,
    /// Own station's call sign.
    pub station: Option<&'a str>,
    /// From this day on, UTC.
    pub from: Option<NaiveDate>,
    /// Up to this day, UTC, included.
    pub to: Option<NaiveDate>,
    /// Only the last ones, this many.
    pub last: Option<u32>,
}

impl<'a> EntrySearch<'a> {
    /// All entries of a filter.
    pub fn by_filter(filter: EntryFilter<'a>) -> Self {
        Self {
            filter,
            ..Self::default()
        }
    }

    /// The SQL condition, and the values of its question marks.
    fn condition(&self) -> (String, Vec<Value>) {
        let mut parts: Vec<&str> = Vec::new();
        let mut values: Vec<Value> = Vec::new();
        let mut add = |part: &'static str, value: Option<Value>| {
            parts.push(part);
            values.extend(value);
        };
        let sent = "FROM sent WHERE sent.number = entries.number AND sent.format = ?)";
        let new = format!("entries.import IS NULL AND NOT EXISTS (SELECT 1 {sent}");
        let changed = format!("contacts.revision > (SELECT max(sent.revision) {sent}");
        let text = |text: &str| Some(Value::from(text.to_owned()));
        match self.filter {
            EntryFilter::All => {}
            EntryFilter::Unconfirmed => add(
                "contacts.number IS NULL AND NOT EXISTS (SELECT 1 FROM reviews
                 WHERE reviews.number = entries.number
                 AND reviews.data ->> '$.verdict' = 'not_a_contact')",
                None,
            ),
            EntryFilter::Trip(trip) => add("entries.trip = ?", text(trip)),
            EntryFilter::Number(number) => add("entries.number = ?", Some(number.into())),
            EntryFilter::Confirmed | EntryFilter::New(_) | EntryFilter::ChangedSinceExport(_) => {
                add("contacts.number IS NOT NULL", None);
            }
        }
        if let Some(call) = self.call {
            add(
                "instr(entries.call, ?) > 0",
                text(&call.trim().to_uppercase()),
            );
        }
        if let Some(band) = self.band {
            add("entries.band = ?", text(&band.to_lowercase()));
        }
        if let Some(station) = self.station {
            add("entries.station = ?", text(&station.trim().to_uppercase()));
        }
        if self.from.is_some() || self.to.is_some() {
            // The index begins with it.
            add("(entries.at_utc IS NULL) = 0", None);
        }
        // Times belong to the day of their nearest second.
        let begin = |day: NaiveDate| format!("{:?}", day);
        if let Some(from) = self.from {
            let last = from.pred_opt().unwrap_or(from);
            add(
                "entries.at_utc >= ?",
                text(&format!("{}T23:59:59.500Z", begin(last))),
            );
        }
        if let Some(to) = self.to {
            add(
                "entries.at_utc < ?",
                text(&format!("{}T23:59:59.500Z", begin(to))),
            );
        }
        match self.filter {
            EntryFilter::New(format) => {
                parts.push(&new);
                values.extend(text(format));
            }
            EntryFilter::ChangedSinceExport(format) => {
                parts.push(&changed);
                values.extend(text(format));
            }
            _ => {}
        }
        let all = if parts.is_empty() {
            "1".to_owned()
        } else {
            parts.join(" AND ")
        };
        (all, values)
    }
}

const SELECT_ENTRIES: &str = "SELECT entries.number, entries.trip, drafts.data, contacts.data,
     coalesce(contacts.revision, 0), entries.import IS NOT NULL, reviews.data
     FROM entries LEFT JOIN drafts USING (number) LEFT JOIN contacts USING (number)
     LEFT JOIN reviews USING (number)";

type EntryRow = (
    i64,
    Option<String>,
    Option<String>,
    Option<String>,
    i64,
    bool,
    Option<String>,
);

impl Logbook {
    /// Entries in order of time.
    pub fn entries(&self, filter: &EntryFilter<'_>) -> Result<Vec<Entry>, LogbookError> {
        self.search(&EntrySearch::by_filter(*filter))
    }

    /// Entries in order of time.
    pub fn search(&self, search: &EntrySearch<'_>) -> Result<Vec<Entry>, LogbookError> {
        entries(&self.connection, &self.path, search)
    }

    /// One entry.
    pub fn entry(&self, number: i64) -> Result<Entry, LogbookError> {
        self.entries(&EntryFilter::Number(number))?
            .pop()
            .ok_or(LogbookError::NoEntry { number })
    }

    /// How many entries a search finds without its limit.
    pub fn count_found(&self, search: &EntrySearch<'_>) -> Result<u64, LogbookError> {
        let (condition, values) = search.condition();
        let from = match search.filter {
            // The table of entries has all columns that are needed.
            EntryFilter::All | EntryFilter::Trip(_) | EntryFilter::Number(_) => "entries",
            _ => "entries LEFT JOIN contacts USING (number)",
        };
        let query = format!("SELECT count(*) FROM {from} WHERE {condition}");
        self.connection
            .query_row(&query, params_from_iter(values), |row| row.get(0))
            .map_err(database(&self.path, "be read"))
    }

    /// How many entries a trip has, without those that a person called no contact, and how
    /// many of them are confirmed.
    pub fn count_of_trip(&self, trip: &str) -> Result<(u64, u64), LogbookError> {
        self.connection
            .query_row(
                "SELECT count(*), count(contacts.number) FROM entries
                 LEFT JOIN contacts USING (number) LEFT JOIN reviews USING (number)
                 WHERE entries.trip = ?1 AND (contacts.number IS NOT NULL
                 OR reviews.data ->> '$.verdict' IS NOT 'not_a_contact')",
                [trip],
                |row| Ok((row.get(0)?, row.get(1)?)),
            )
            .map_err(database(&self.path, "be read"))
    }
}

pub(super) fn entries(
    connection: &Connection,
    path: &Path,
    search: &EntrySearch<'_>,
) -> Result<Vec<Entry>, LogbookError> {
    let failed = database(path, "be read");
    let (condition, values) = search.condition();
    // Read backwards, so that the last ones come first; the index has this order.
    let down = "entries.at_utc IS NULL DESC, entries.at_utc DESC, entries.trip DESC,
         entries.on_s DESC, entries.number DESC";
    let limit = search.last.map(|last| format!(" LIMIT {last}"));
    let query = format!(
        "{SELECT_ENTRIES} WHERE {condition} ORDER BY {down}{}",
        limit.unwrap_or_default()
    );
    let mut query = connection.prepare_cached(&query).map_err(&failed)?;
    let rows = query
        .query_map(params_from_iter(values), raw)
        .map_err(&failed)?;
    let mut entries = Vec::new();
    for row in rows {
        let (number, trip, draft, contact, revision, imported, review) = row.map_err(&failed)?;
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
            imported,
            review: review
                .map(|text| from_json(&text, number, path))
                .transpose()?
                .unwrap_or_default(),
        });
    }
    entries.reverse();
    Ok(entries)
}

fn raw(row: &Row<'_>) -> rusqlite::Result<EntryRow> {
    Ok((
        row.get(0)?,
        row.get(1)?,
        row.get(2)?,
        row.get(3)?,
        row.get(4)?,
        row.get(5)?,
        row.get(6)?,
    ))
}
