//! Entries that may be one contact, with both sides.

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

/// A contact in a line: what a person tells contacts apart by.
#[derive(Debug, Clone, Serialize)]
pub(crate) struct DuplicateSide {
    /// `None` for what is in no logbook yet.
    #[serde(skip_serializing_if = "Option::is_none")]
    number: Option<i64>,
    call: Option<String>,
    utc: Option<String>,
    mhz: Option<String>,
    band: Option<String>,
    mode: Option<String>,
    /// Where it is from: a trip, or another log.
    from: Option<String>,
}

impl DuplicateSide {
    /// An entry of the logbook.
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

    /// A contact of another log.
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

/// Two entries that may be one contact.
#[derive(Debug, Serialize)]
pub(crate) struct DuplicatePair {
    why: DuplicateReason,
    first: DuplicateSide,
    second: DuplicateSide,
}

/// Both sides of each pair.
pub(crate) fn of(logbook: &Logbook, pairs: &[DuplicateEntries]) -> Result<Vec<DuplicatePair>> {
    let mut twins = Vec::new();
    for pair in pairs {
        twins.push(DuplicatePair {
            why: pair.why,
            first: DuplicateSide::from_entry(&logbook.entry(pair.first)?),
            second: DuplicateSide::from_entry(&logbook.entry(pair.second)?),
        });
    }
    Ok(twins)
}

/// Prints the first so many; there are so many more that are not given.
pub(crate) fn print_duplicates(twins: &[DuplicatePair], shown: usize, more: usize) -> Result<()> {
    if twins.is_empty() {
        return Ok(());
    }
    let pairs = count(twins.len() + more, "pair of entries", "pairs of entries");
    print::line(&format!(
        "  {pairs} may be one contact each; both stay in the logbook:"
    ))?;
    for pair in twins.iter().take(shown) {
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
    let further = twins.len().saturating_sub(shown) + more;
    if further > 0 {
        let further = count(further, "further pair", "further pairs");
        print::line(&format!("    and {further} (`log --duplicates` tells all)"))?;
    }
    Ok(())
}

/// What may be the same contact, by the number of each entry.
pub(crate) type DuplicatesByNumber = BTreeMap<i64, Vec<DuplicatePair>>;

/// What may be the same contact as each of these entries.
pub(crate) fn duplicates_by_number(
    logbook: &Logbook,
    entries: &[Entry],
    within: TimeDelta,
) -> Result<DuplicatesByNumber> {
    let mut all = BTreeMap::new();
    for entry in entries {
        let pairs = logbook.duplicates_of(entry, within)?;
        if !pairs.is_empty() {
            all.insert(entry.number, of(logbook, &pairs)?);
        }
    }
    Ok(all)
}

impl DuplicatePair {
    /// As a doubt about the first of the two.
    pub(crate) fn doubt(&self) -> Doubt {
        let number = self.second.number.unwrap_or_default();
        let entry = self.second.to_string();
        Doubt::from(match self.why {
            DuplicateReason::Station => EntryDoubt::MayBeSame { number, entry },
            DuplicateReason::Time => EntryDoubt::SameTime { number, entry },
        })
    }
}
