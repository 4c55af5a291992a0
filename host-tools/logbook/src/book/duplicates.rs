//! Finds contacts that may be in the log twice. They are shown, never dropped.

use chrono::{DateTime, TimeDelta, Utc};
use serde::Serialize;

use super::{Logbook, database, stamp, unstamp};
use crate::LogbookError;
use jumpseat_entries::{Entry, home_call};

/// Two entries that may be one contact.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DuplicateEntries {
    /// The earlier entry, or the one asked for.
    pub first: i64,
    /// The other one.
    pub second: i64,
    /// Why they may be the same.
    pub why: DuplicateReason,
}

/// Why two entries may be one contact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DuplicateReason {
    /// The same station, band and mode within the settable time.
    Station,
    /// The same time and band, from different trips or logs, where one call sign is not
    /// known: an operator is not in two contacts at once.
    Time,
}

/// Contacts of other logs often end in the minute in which they begin.
const MINUTE: TimeDelta = TimeDelta::minutes(1);

/// A contact is over after this time (longer ones are rare; our choice).
const LONGEST_CONTACT: TimeDelta = TimeDelta::hours(2);

impl Logbook {
    /// Every pair of contacts with the same station on the same band in the same
    /// mode that began within this time of each other; an unknown band or mode
    /// may be any.
    pub fn duplicates(&self, within: TimeDelta) -> Result<Vec<DuplicateEntries>, LogbookError> {
        let mut pairs = Vec::new();
        self.each_duplicate(within, |pair| pairs.push(pair))?;
        Ok(pairs)
    }

    /// As [`Logbook::duplicates`], one pair after the other: there may be many more pairs
    /// than contacts.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    pub fn each_duplicate(
        &self,
        within: TimeDelta,
        mut each: impl FnMut(DuplicateEntries),
    ) -> Result<(), LogbookError> {
        let failed = database(&self.path, "be read");
        let mut query = self
            .connection
            .prepare_cached(
                "SELECT home, on_utc, band, mode, number FROM contacts
                 WHERE on_utc IS NOT NULL ORDER BY home, on_utc",
            )
            .map_err(&failed)?;
        let mut rows = query.query([]).map_err(&failed)?;
        // Contacts of the same station that are near enough to the newest.
        let mut near: Vec<ComparedContact> = Vec::new();
        let mut station = String::new();
        while let Some(row) = rows.next().map_err(&failed)? {
            let home = row.get_ref(0).map_err(&failed)?;
            let home = home.as_str().map_err(|error| failed(error.into()))?;
            if home != station {
                home.clone_into(&mut station);
                near.clear();
            }
            let on = row.get_ref(1).map_err(&failed)?;
            let on = on.as_str().map_err(|error| failed(error.into()))?;
            let Some(on) = unstamp(on) else { continue };
            let brief = ComparedContact {
                on,
                band: row.get(2).map_err(&failed)?,
                mode: row.get(3).map_err(&failed)?,
                number: row.get(4).map_err(&failed)?,
            };
            if !near.is_empty() {
                near.retain(|earlier| earlier.is_near(&brief, within));
            }
            for earlier in near.iter().filter(|earlier| earlier.is_alike(&brief)) {
                each(DuplicateEntries {
                    first: earlier.number,
                    second: brief.number,
                    why: DuplicateReason::Station,
                });
            }
            near.push(brief);
        }
        Ok(())
    }

    /// Other entries that may be the same contact as this one.
    pub fn duplicates_of(
        &self,
        entry: &Entry,
        within: TimeDelta,
    ) -> Result<Vec<DuplicateEntries>, LogbookError> {
        let Some(here) = ComparedEntry::from_entry(entry) else {
            return Ok(Vec::new());
        };
        let reach = within.max(MINUTE);
        let (Some(from), Some(to)) = (
            here.on.checked_sub_signed(reach.max(LONGEST_CONTACT)),
            here.off.checked_add_signed(reach),
        ) else {
            return Ok(Vec::new());
        };
        let failed = database(&self.path, "be read");
        let mut query = self
            .connection
            .prepare_cached(
                "SELECT number FROM entries WHERE (at_utc IS NULL) = 0
                 AND at_utc BETWEEN ?1 AND ?2 AND number <> ?3 ORDER BY at_utc",
            )
            .map_err(&failed)?;
        let numbers: Vec<i64> = query
            .query_map((stamp(from), stamp(to), entry.number), |row| row.get(0))
            .and_then(Iterator::collect)
            .map_err(failed)?;
        let mut pairs = Vec::new();
        for number in numbers {
            let other = self.entry(number)?;
            let same_trip = entry.trip.is_some() && entry.trip == other.trip;
            let why = ComparedEntry::from_entry(&other)
                .and_then(|there| here.duplicate_reason(&there, within, same_trip));
            pairs.extend(why.map(|why| DuplicateEntries {
                first: entry.number,
                second: number,
                why,
            }));
        }
        Ok(pairs)
    }
}

/// What is compared of a confirmed contact.
struct ComparedContact {
    number: i64,
    on: DateTime<Utc>,
    band: Option<String>,
    mode: Option<String>,
}

impl ComparedContact {
    fn is_near(&self, later: &Self, within: TimeDelta) -> bool {
        later.on - self.on <= within
    }

    fn is_alike(&self, other: &Self) -> bool {
        may_be(&self.band, &other.band) && may_be(&self.mode, &other.mode)
    }
}

/// Whether two values can be the same; an unknown one can be anything.
fn may_be(one: &Option<String>, other: &Option<String>) -> bool {
    one.is_none() || other.is_none() || one == other
}

/// What is compared of an entry, confirmed or drafted.
struct ComparedEntry {
    home: Option<String>,
    on: DateTime<Utc>,
    off: DateTime<Utc>,
    band: Option<String>,
    mode: Option<String>,
}

impl ComparedEntry {
    /// `None` where no time is known.
    fn from_entry(entry: &Entry) -> Option<Self> {
        let on = entry.on()?;
        Some(Self {
            home: entry.call().map(|call| home_call(&call)),
            on,
            off: entry.off().unwrap_or(on).max(on),
            band: entry.band().map(str::to_owned),
            mode: entry.adif_mode().map(str::to_owned),
        })
    }

    fn duplicate_reason(
        &self,
        other: &Self,
        within: TimeDelta,
        same_trip: bool,
    ) -> Option<DuplicateReason> {
        if !may_be(&self.band, &other.band) {
            return None;
        }
        if let (Some(one), Some(two)) = (&self.home, &other.home) {
            let near = (self.on - other.on).abs() <= within;
            return (one == two && near && may_be(&self.mode, &other.mode))
                .then_some(DuplicateReason::Station);
        }
        // Drafting already decided that two contacts of one trip are two.
        let common = self.off.min(other.off) - self.on.max(other.on);
        (!same_trip && common > -MINUTE).then_some(DuplicateReason::Time)
    }
}
