//! A trip's drafts, also when it is drafted again.

use super::action::{Act, Origin, Part};
use super::list::entries;
use super::{Entry, Filter, Logbook, Search, to_json};
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
            let old = entries(change, path, &Search::of(Filter::Trip(trip)))?;
            let pairs = pair(&old, drafts);
            let mut stored = Stored::default();
            let mut act = Act::begin(change, path, "draft");
            for (index, draft) in drafts.iter().enumerate() {
                let old = pairs
                    .iter()
                    .find(|(_, new)| *new == index)
                    .and_then(|(was, _)| old.get(*was));
                put(&mut act, trip, old, draft, &mut stored)?;
            }
            for (index, entry) in old.iter().enumerate() {
                if !pairs.iter().any(|(was, _)| *was == index) {
                    retire(&mut act, entry, &mut stored)?;
                }
            }
            act.end(&format!(
                "drafted {trip}: {} new, {} changed, {} taken out",
                stored.added.len(),
                stored.changed.len(),
                stored.removed.len()
            ))?;
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
    act: &mut Act<'_>,
    trip: &str,
    old: Option<&Entry>,
    draft: &Draft,
    stored: &mut Stored,
) -> Result<(), LogError> {
    let number = match old {
        Some(entry) => entry.number,
        None => act.new_entry(&Origin {
            trip: Some(trip.to_owned()),
            ..Origin::default()
        })?,
    };
    stored.numbers.push(number);
    if old.is_some_and(|old| old.draft.as_ref() == Some(draft)) {
        return Ok(());
    }
    let after = to_json(draft, number, act.path)?;
    act.set(number, Part::Draft, Some(&after))?;
    if old.is_some() {
        stored.changed.push(number);
    } else {
        stored.added.push(number);
    }
    Ok(())
}

/// An entry that the new drafts do not hold.
fn retire(act: &mut Act<'_>, entry: &Entry, stored: &mut Stored) -> Result<(), LogError> {
    let Some(draft) = &entry.draft else {
        return Ok(());
    };
    if entry.contact.is_none() {
        act.set(entry.number, Part::Draft, None)?;
        act.set(entry.number, Part::Entry, None)?;
        stored.removed.push(entry.number);
        return Ok(());
    }
    stored.kept.push(entry.number);
    if draft.doubts.iter().any(|doubt| doubt == NOT_FOUND_AGAIN) {
        return Ok(());
    }
    let mut doubted = draft.clone();
    doubted.doubts.push(NOT_FOUND_AGAIN.to_owned());
    let after = to_json(&doubted, entry.number, act.path)?;
    act.set(entry.number, Part::Draft, Some(&after))
}
