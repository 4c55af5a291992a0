//! Compares a draft with the truth.

mod draft;
mod matching;
pub mod plot;
mod summary;
mod table;

use serde::Serialize;

pub use draft::{ScoredDraft, ScoredEntry, ScoredEntryKind, ScoredField};
pub use summary::{CalibrationBin, ScoreSummary};

use crate::truth::{DriveTruth, TrueContact};

/// What a draft is worth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DraftScore {
    /// Contacts that took place.
    pub contacts: usize,
    /// Length of the drive in hours.
    pub hours: f64,
    /// Of these in the draft.
    pub found: usize,
    /// Of these not in the draft: their call signs and starts in seconds.
    pub missed: Vec<(String, f64)>,
    /// Contacts in the draft that never took place: their starts in seconds.
    pub invented: Vec<f64>,
    /// Entries that only ask a person to look, beside the contacts.
    pub looks: usize,
    /// Call signs with a stated probability, and whether they were right.
    pub stated: Vec<(f64, bool)>,
    /// Every contact that was found, field by field.
    pub matched: Vec<MatchedContact>,
}

/// A contact that was found. Errors are draft minus truth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MatchedContact {
    /// The true call sign.
    pub contact: String,
    /// What kind of contact it was.
    pub kind: String,
    /// The other station's voice.
    pub voice: String,
    /// The call sign drafted, and its probability where one was stated.
    pub drafted: (Option<String>, Option<f64>),
    /// Whether a name was said in it.
    pub named: bool,
    /// Whether a report was received in it.
    pub reported: bool,
    /// Error of the start in seconds of UTC; `None` when the draft has no time.
    pub on_error_s: Option<f64>,
    /// Error of the end.
    pub off_error_s: Option<f64>,
    /// Frequency.
    pub hz: FieldVerdict,
    /// Mode.
    pub mode: FieldVerdict,
    /// Own locator.
    pub locator: FieldVerdict,
    /// Distance from the true place in metres; `None` when the draft has no place.
    pub place_error_m: Option<f64>,
    /// Call sign.
    pub call: FieldVerdict,
    /// Report given.
    pub sent: FieldVerdict,
    /// Report received.
    pub received: FieldVerdict,
    /// Name.
    pub name: FieldVerdict,
}

/// What a field is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FieldVerdict {
    /// As it was.
    Right,
    /// Not first, but among the alternatives.
    Alternative,
    /// Something else, and the truth is not among the alternatives.
    Wrong,
    /// Left empty.
    Blank,
}

impl FieldVerdict {
    fn compare<T: PartialEq>(field: &ScoredField<T>, truth: &T) -> Self {
        match &field.value {
            Some(value) if value == truth => Self::Right,
            _ if field.alternatives.iter().any(|other| other.value == *truth) => Self::Alternative,
            Some(_) => Self::Wrong,
            None => Self::Blank,
        }
    }

    /// A value that was not there to be found is right when blank.
    fn compare_optional(field: &ScoredField<String>, truth: Option<&String>) -> Self {
        match (truth, &field.value) {
            (Some(truth), _) => Self::compare(field, truth),
            (None, None) => Self::Right,
            (None, Some(_)) => Self::Wrong,
        }
    }
}

/// The score of a draft.
pub fn score(truth: &DriveTruth, draft: &ScoredDraft) -> Result<DraftScore, chrono::ParseError> {
    let start = truth.start()?;
    let entries: Vec<&ScoredEntry> = draft
        .drafts
        .iter()
        .filter(|entry| entry.kind == ScoredEntryKind::Contact)
        .collect();
    let spans: Vec<(f64, f64)> = entries.iter().map(|entry| entry.span_s(start)).collect();
    let calls: Vec<Option<&str>> = entries
        .iter()
        .map(|entry| entry.call.value.as_deref())
        .collect();
    let pairs = matching::pairs(&truth.contacts, &spans, &calls);
    let mut result = DraftScore {
        contacts: truth.contacts.len(),
        hours: truth.length_s / 3_600.0,
        found: 0,
        missed: Vec::new(),
        invented: Vec::new(),
        looks: draft.drafts.len() - entries.len(),
        stated: Vec::new(),
        matched: Vec::new(),
    };
    for (index, contact) in truth.contacts.iter().enumerate() {
        match pairs.iter().find(|pair| pair.0 == index) {
            Some(&(_, entry)) => {
                result.found += 1;
                let found = compare(contact, entries[entry], start);
                let stated = entries[entry].call.probability;
                result
                    .stated
                    .extend(stated.map(|stated| (stated, found.call == FieldVerdict::Right)));
                result.matched.push(found);
            }
            None => result.missed.push((contact.call.clone(), contact.on_s)),
        }
    }
    for (index, span) in spans.iter().enumerate() {
        if pairs.iter().all(|pair| pair.1 != index) {
            result.invented.push(span.0);
            result.stated.extend(
                entries[index]
                    .call
                    .probability
                    .map(|stated| (stated, false)),
            );
        }
    }
    Ok(result)
}

fn compare(
    contact: &TrueContact,
    entry: &ScoredEntry,
    start: chrono::DateTime<chrono::Utc>,
) -> MatchedContact {
    let error_s = |field: &ScoredField<chrono::DateTime<chrono::Utc>>, true_s: f64| {
        field
            .value
            .map(|utc| draft::seconds_since(start, utc) - true_s)
    };
    let place = entry.lat.value.zip(entry.lon.value);
    MatchedContact {
        contact: contact.call.clone(),
        kind: contact.kind.clone(),
        voice: contact.voice.clone(),
        drafted: (entry.call.value.clone(), entry.call.probability),
        named: contact.name.is_some(),
        reported: contact.received.is_some(),
        on_error_s: error_s(&entry.on, contact.on_s),
        off_error_s: error_s(&entry.off, contact.off_s),
        hz: FieldVerdict::compare(&entry.hz, &contact.hz),
        mode: FieldVerdict::compare(&entry.mode, &contact.mode),
        locator: FieldVerdict::compare(
            &entry.locator.map(|locator| locator.to_lowercase()),
            &contact.locator.to_lowercase(),
        ),
        place_error_m: place
            .map(|(lat, lon)| crate::gps::distance_m((lat, lon), (contact.lat, contact.lon))),
        call: FieldVerdict::compare(&entry.call, &contact.call),
        sent: FieldVerdict::compare_optional(&entry.sent, contact.sent.as_ref()),
        received: FieldVerdict::compare_optional(&entry.received, contact.received.as_ref()),
        name: FieldVerdict::compare_optional(&entry.name, contact.name.as_ref()),
    }
}

#[cfg(test)]
mod tests;
