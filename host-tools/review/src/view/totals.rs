//! How many contacts, by band, area and hour.

use std::collections::BTreeMap;

use super::{Shown, State};

/// A heading, and how many are confirmed and open under it.
pub(crate) type Row = (String, usize, usize);

/// Totals of the entries that are or may be contacts.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Totals {
    pub(crate) confirmed: usize,
    pub(crate) open: usize,
    pub(crate) bands: Vec<Row>,
    pub(crate) areas: Vec<Row>,
    pub(crate) hours: Vec<Row>,
}

impl Totals {
    pub(crate) fn of(entries: &[Shown]) -> Self {
        let counted: Vec<&Shown> = entries
            .iter()
            .filter(|entry| entry.state != State::NotAContact)
            .filter(|entry| !(entry.look && entry.state.is_open()))
            .collect();
        let count = |confirmed: bool| {
            let alike = |entry: &&&Shown| (entry.state == State::Confirmed) == confirmed;
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

fn by(entries: &[&Shown], heading: impl Fn(&Shown) -> Option<String>) -> Vec<Row> {
    let mut rows: BTreeMap<String, (usize, usize)> = BTreeMap::new();
    for entry in entries {
        let heading = heading(entry).unwrap_or_else(|| "not known".into());
        let row = rows.entry(heading).or_default();
        if entry.state == State::Confirmed {
            row.0 += 1;
        } else {
            row.1 += 1;
        }
    }
    rows.into_iter()
        .map(|(heading, (confirmed, open))| (heading, confirmed, open))
        .collect()
}
