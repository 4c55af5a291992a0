//! Counts contacts by band, area and hour.

use std::collections::BTreeMap;

use super::{EntryState, EntryView};

/// A heading, and how many are confirmed and open under it.
pub(crate) type TotalsRow = (String, usize, usize);

/// Totals of the entries that are or may be contacts.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct TripTotals {
    pub(crate) confirmed: usize,
    pub(crate) open: usize,
    pub(crate) bands: Vec<TotalsRow>,
    pub(crate) areas: Vec<TotalsRow>,
    pub(crate) hours: Vec<TotalsRow>,
}

impl TripTotals {
    pub(crate) fn count(entries: &[EntryView]) -> Self {
        let counted: Vec<&EntryView> = entries
            .iter()
            .filter(|entry| entry.state != EntryState::NotAContact)
            .filter(|entry| !(entry.look && entry.state.is_open()))
            .collect();
        let count = |confirmed: bool| {
            let alike = |entry: &&&EntryView| (entry.state == EntryState::Confirmed) == confirmed;
            counted.iter().filter(alike).count()
        };
        Self {
            confirmed: count(true),
            open: count(false),
            bands: by(&counted, |entry| entry.band.clone()),
            areas: by(&counted, |entry| entry.area.clone()),
            hours: by(&counted, |entry| {
                Some(entry.on?.format("%m-%d %H h").to_string())
            }),
        }
    }
}

fn by(entries: &[&EntryView], heading: impl Fn(&EntryView) -> Option<String>) -> Vec<TotalsRow> {
    let mut rows: BTreeMap<String, (usize, usize)> = BTreeMap::new();
    for entry in entries {
        let heading = heading(entry).unwrap_or_else(|| "not known".into());
        let row = rows.entry(heading).or_default();
        if entry.state == EntryState::Confirmed {
            row.0 += 1;
        } else {
            row.1 += 1;
        }
    }
    rows.into_iter()
        .map(|(heading, (confirmed, open))| (heading, confirmed, open))
        .collect()
}
