//! Which entries could be searched, and which could not.

use std::collections::BTreeSet;

use anyhow::Result;
use jumpseat_entries::Entry;
use jumpseat_trip::RETENTION_FILE;
use jumpseat_values::display::count;
use serde::Serialize;

use crate::home::{HomeFolder, is_there};
use crate::print;

/// Trips that are named when they have no transcript yet.
const MAX_NAMED_TRIPS: usize = 3;

/// How many entries could be searched.
#[derive(Debug, Default, Serialize)]
pub(super) struct SearchedEntries {
    pub(super) with_transcript: usize,
    without_transcript: usize,
    /// Drafting these trips again gives their entries a transcript.
    trips_to_draft: BTreeSet<String>,
    /// Entries without a transcript for which nothing can be done.
    #[serde(skip)]
    hopeless: usize,
}

/// "1 entry has", "2 entries have".
fn have(entries: usize) -> String {
    count(entries, "entry has", "entries have")
}

impl SearchedEntries {
    /// Counts an entry without a transcript.
    pub(super) fn miss(&mut self, home: &HomeFolder, entry: &Entry) -> Result<()> {
        self.without_transcript += 1;
        let recorded = entry.trip.as_ref().filter(|_| entry.draft.is_some());
        let Some(trip) = recorded else {
            self.hopeless += 1;
            return Ok(());
        };
        let folder = home.trips().join(trip);
        // A trip that was reduced to its contacts cannot be drafted again.
        if self.trips_to_draft.contains(trip)
            || (folder.is_dir() && !is_there(&folder.join(RETENTION_FILE))?)
        {
            self.trips_to_draft.insert(trip.clone());
        } else {
            self.hopeless += 1;
        }
        Ok(())
    }

    /// Prints what could not be searched, and what helps.
    pub(super) fn print_missing(&self, home: &HomeFolder) -> Result<()> {
        let open = self.without_transcript - self.hopeless;
        if open > 0 {
            let trips = &self.trips_to_draft;
            let named: Vec<&str> = trips.iter().map(String::as_str).collect();
            let named = named.get(..MAX_NAMED_TRIPS).unwrap_or(&named).join(", ");
            let more = match trips.len().saturating_sub(MAX_NAMED_TRIPS) {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            print::line(&format!(
                "{} no transcript yet; `{} draft TRIP` writes it, for {named}{more}.",
                have(open),
                home.command()
            ))?;
        }
        if self.hopeless > 0 {
            print::line(&format!(
                "{} no transcript: imported, or without the whole sound of a trip.",
                have(self.hopeless)
            ))?;
        }
        Ok(())
    }
}
