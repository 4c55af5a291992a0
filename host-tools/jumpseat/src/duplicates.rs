//! Pairs of entries that may be the same contact.

use std::collections::BTreeMap;
use std::fmt;

use anyhow::Result;
use chrono::{DateTime, TimeDelta, Utc};
use jumpseat_entries::{Contact, Entry};
use jumpseat_logbook::{DuplicateEntries, DuplicateReason, Logbook};
use jumpseat_values::display::{count, megahertz, nearest_second};
use jumpseat_values::{Doubt, EntryDoubt};
use serde::Serialize;

use crate::print;

/// One contact of a pair, with what distinguishes it from others.
#[derive(Debug, Clone, Serialize)]
pub(crate) struct DuplicateSide {
    /// `None` for a contact that is not in the logbook.
    #[serde(skip_serializing_if = "Option::is_none")]
    number: Option<i64>,
    call: Option<String>,
    utc: Option<String>,
    mhz: Option<String>,
    band: Option<String>,
    mode: Option<String>,
    /// Its origin: a trip, or "imported".
    from: Option<String>,
}

impl DuplicateSide {
    /// From an entry of the logbook.
    pub(crate) fn from_entry(entry: &Entry) -> Self {
        let whole_minutes = entry
            .contact
            .as_ref()
            .is_some_and(|contact| contact.whole_minutes);
        let imported = entry.imported.then(|| "imported".to_owned());
        Self {
            number: Some(entry.number),
            call: entry.call(),
            utc: entry.on().map(|on| utc(on, whole_minutes)),
            mhz: entry.hz().map(megahertz),
            band: entry.band().map(str::to_owned),
            mode: entry.mode().map(str::to_owned),
            from: entry.trip.clone().or(imported),
        }
    }

    /// From a contact of another log.
    pub(crate) fn from_contact(contact: &Contact) -> Self {
        Self {
            number: None,
            call: Some(contact.call.clone()),
            utc: contact.on.map(|on| utc(on, contact.whole_minutes)),
            mhz: contact.hz.map(megahertz),
            band: contact.band.clone(),
            mode: contact.mode_word().map(str::to_owned),
            from: None,
        }
    }
}

fn utc(time: DateTime<Utc>, whole_minutes: bool) -> String {
    let form = if whole_minutes {
        "%Y-%m-%d %H:%M"
    } else {
        "%Y-%m-%d %H:%M:%S"
    };
    nearest_second(time).format(form).to_string()
}

impl fmt::Display for DuplicateSide {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let known = |value: &Option<String>| value.clone().unwrap_or_else(|| "-".to_owned());
        let dial = self.mhz.clone().or_else(|| self.band.clone());
        write!(
            f,
            "{}  {}  {} {}",
            known(&self.call),
            known(&self.utc),
            known(&dial),
            known(&self.mode)
        )?;
        match &self.from {
            Some(from) => write!(f, "  {from}"),
            None => Ok(()),
        }
    }
}

/// Two entries that may be the same contact.
#[derive(Debug, Serialize)]
pub(crate) struct DuplicatePair {
    why: DuplicateReason,
    first: DuplicateSide,
    second: DuplicateSide,
}

/// Reads both entries of each pair.
pub(crate) fn read_pairs(
    logbook: &Logbook,
    pairs: &[DuplicateEntries],
) -> Result<Vec<DuplicatePair>> {
    let mut read = Vec::new();
    for pair in pairs {
        read.push(DuplicatePair {
            why: pair.why,
            first: DuplicateSide::from_entry(&logbook.entry(pair.first)?),
            second: DuplicateSide::from_entry(&logbook.entry(pair.second)?),
        });
    }
    Ok(read)
}

/// Prints the first `shown` pairs; `more` pairs exist that are not in the list.
pub(crate) fn print_duplicates(pairs: &[DuplicatePair], shown: usize, more: usize) -> Result<()> {
    if pairs.is_empty() {
        return Ok(());
    }
    let number = count(pairs.len() + more, "pair of entries", "pairs of entries");
    print::line(&format!(
        "  {number} may be the same contact; both entries are kept:"
    ))?;
    for pair in pairs.iter().take(shown) {
        let why = match pair.why {
            DuplicateReason::Station => "same station, band and mode",
            DuplicateReason::Time => "at the same time",
        };
        for side in [&pair.first, &pair.second] {
            print::line(&format!(
                "    {:>5}  {side}",
                side.number.unwrap_or_default()
            ))?;
        }
        print::line(&format!("           {why}"))?;
    }
    let further = pairs.len().saturating_sub(shown) + more;
    if further > 0 {
        let further = count(further, "further pair", "further pairs");
        print::line(&format!("    and {further} (`log --duplicates` lists all)"))?;
    }
    Ok(())
}

/// Pairs by the number of their first entry.
pub(crate) type DuplicatesByNumber = BTreeMap<i64, Vec<DuplicatePair>>;

/// Finds what may be the same contact as each of these entries.
pub(crate) fn duplicates_by_number(
    logbook: &Logbook,
    entries: &[Entry],
    within: TimeDelta,
) -> Result<DuplicatesByNumber> {
    let mut all = BTreeMap::new();
    for entry in entries {
        let pairs = logbook.duplicates_of(entry, within)?;
        if !pairs.is_empty() {
            all.insert(entry.number, read_pairs(logbook, &pairs)?);
        }
    }
    Ok(all)
}

impl DuplicatePair {
    /// As a doubt about the first entry.
    pub(crate) fn doubt(&self) -> Doubt {
        let number = self.second.number.unwrap_or_default();
        let entry = self.second.to_string();
        Doubt::from(match self.why {
            DuplicateReason::Station => EntryDoubt::MayBeSame { number, entry },
            DuplicateReason::Time => EntryDoubt::SameTime { number, entry },
        })
    }
}
