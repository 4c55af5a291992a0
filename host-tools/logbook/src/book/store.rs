//! Stores a trip's drafts, also when it is drafted again.

use super::action::{ActionWriter, EntryOrigin, EntryPart};
use super::search::entries;
use super::{EntryFilter, EntrySearch, Logbook, to_json};
use crate::LogbookError;
use jumpseat_entries::{Draft, Entry, EntryVerdict};
use jumpseat_values::{Doubt, DraftDoubt};

/// Two drafts that have at least this share of their time in common are the same contact,
/// drafted twice.
const MIN_COMMON_SHARE: f64 = 0.3;

/// What became of a trip's drafts.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StoredDrafts {
    /// The number of each draft, in the order they were given.
    pub numbers: Vec<i64>,
    /// New entries.
    pub added: Vec<i64>,
    /// Entries whose draft differs from before.
    pub changed: Vec<i64>,
    /// Entries that nobody confirmed and that the new drafts do not hold.
    pub removed: Vec<i64>,
    /// Entries that a person confirmed or worked on and that the new drafts do not
    /// hold; they were kept.
    pub kept: Vec<i64>,
}

impl Logbook {
    /// Replaces the drafts of a trip. A draft at much the same time as a former one gets its
    /// number. What a person confirmed stays, and so does an entry that a person joined or
    /// split.
    pub fn store_drafts(
        &mut self,
        trip: &str,
        drafts: &[Draft],
    ) -> Result<StoredDrafts, LogbookError> {
        self.transaction("store the drafts", |change, path| {
            let all = entries(
                change,
                path,
                &EntrySearch::by_filter(EntryFilter::Trip(trip)),
            )?;
            let (shaped, old): (Vec<_>, Vec<_>) =
                all.into_iter().partition(|entry| entry.review.shaped);
            let pairs = pair(&old, drafts);
            let mut stored = StoredDrafts::default();
            let mut act = ActionWriter::begin(change, path, "draft");
            for (index, draft) in drafts.iter().enumerate() {
                if let Some(number) = within(&shaped, draft) {
                    stored.numbers.push(number);
                    continue;
                }
                let old = pairs
                    .iter()
                    .find(|(_, new)| *new == index)
                    .and_then(|(was, _)| old.get(*was));
                put(&mut act, trip, old, draft, &mut stored)?;
            }
            for (index, entry) in old.iter().enumerate() {
                let found = pairs.iter().find(|(was, _)| *was == index);
                let found = found.and_then(|(_, new)| drafts.get(*new));
                if found.is_none_or(|draft| within(&shaped, draft).is_some()) {
                    retire(&mut act, entry, &mut stored)?;
                }
            }
            act.finish(&format!(
                "drafted {trip}: {} new, {} changed, {} taken out",
                stored.added.len(),
                stored.changed.len(),
                stored.removed.len()
            ))?;
            Ok(stored)
        })
    }
}

/// The entry, joined or split by a person, that covers a draft already: at least half of
/// the draft's time lies in such entries.
fn within(shaped: &[Entry], draft: &Draft) -> Option<i64> {
    let common = |entry: &Entry| {
        let there = entry.draft.as_ref()?;
        let common = there.off_s.min(draft.off_s) - there.on_s.max(draft.on_s);
        (common > 0.0).then_some((common, entry.number))
    };
    let parts: Vec<(f64, i64)> = shaped.iter().filter_map(common).collect();
    let told: f64 = parts.iter().map(|(common, _)| common).sum();
    let most = parts
        .into_iter()
        .max_by(|one, other| one.0.total_cmp(&other.0));
    most.filter(|_| told * 2.0 >= draft.off_s - draft.on_s)
        .map(|(_, number)| number)
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
                .filter(|(overlap, ..)| *overlap >= MIN_COMMON_SHARE),
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
    act: &mut ActionWriter<'_>,
    trip: &str,
    old: Option<&Entry>,
    draft: &Draft,
    stored: &mut StoredDrafts,
) -> Result<(), LogbookError> {
    let number = match old {
        Some(entry) => entry.number,
        None => act.new_entry(&EntryOrigin {
            trip: Some(trip.to_owned()),
            ..EntryOrigin::default()
        })?,
    };
    stored.numbers.push(number);
    // Compared as they are written: times have milliseconds there.
    let after = to_json(draft, number, act.path)?;
    let before = old.and_then(|old| old.draft.as_ref());
    let before = before.map(|draft| to_json(draft, number, act.path));
    if before.transpose()?.as_ref() == Some(&after) {
        return Ok(());
    }
    act.set(number, EntryPart::Draft, Some(&after))?;
    if old.is_some() {
        stored.changed.push(number);
    } else {
        stored.added.push(number);
    }
    Ok(())
}

/// An entry that the new drafts do not hold.
fn retire(
    act: &mut ActionWriter<'_>,
    entry: &Entry,
    stored: &mut StoredDrafts,
) -> Result<(), LogbookError> {
    let Some(draft) = &entry.draft else {
        return Ok(());
    };
    let worked_on =
        !entry.review.edits.is_empty() || entry.review.verdict == Some(EntryVerdict::Later);
    if entry.contact.is_none() && !worked_on {
        act.set(entry.number, EntryPart::Review, None)?;
        act.set(entry.number, EntryPart::Draft, None)?;
        act.set(entry.number, EntryPart::Entry, None)?;
        stored.removed.push(entry.number);
        return Ok(());
    }
    stored.kept.push(entry.number);
    let not_found = Doubt::from(DraftDoubt::NotFoundAgain);
    if draft.doubts.contains(&not_found) {
        return Ok(());
    }
    let mut doubted = draft.clone();
    doubted.doubts.push(not_found);
    let after = to_json(&doubted, entry.number, act.path)?;
    act.set(entry.number, EntryPart::Draft, Some(&after))
}
