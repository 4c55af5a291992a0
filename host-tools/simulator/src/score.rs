//! Compares a draft with the truth.

mod draft;
mod draft_score;
mod judgement;
mod judgement_page;
mod matching;
pub mod plot;
mod summary;
mod table;
mod verdict;

pub use draft::{ScoredDraft, ScoredEntry, ScoredEntryKind, ScoredField};
pub use draft_score::{DraftScore, MatchedContact};
pub use judgement::{
    JudgedContact, JudgedConversation, JudgedDrive, JudgedField, MissedReason, judge,
};
pub use judgement_page::judgement_page;
pub use summary::{CalibrationBin, ScoreSummary};
pub use verdict::FieldVerdict;

use crate::truth::{DriveTruth, TrueContact};

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
            .map(|(lat, lon)| crate::scenario::distance_m((lat, lon), (contact.lat, contact.lon))),
        call: FieldVerdict::compare(&entry.call, &contact.call),
        sent: FieldVerdict::compare_optional(&entry.sent, contact.sent.as_ref()),
        received: FieldVerdict::compare_optional(&entry.received, contact.received.as_ref()),
        name: FieldVerdict::compare_optional(&entry.name, contact.name.as_ref()),
    }
}

#[cfg(test)]
mod tests;
