//! The draft as a JSON file, for programs.

use jumpseat_entries::{Draft, Entry};
use jumpseat_values::Doubt;
use serde::Serialize;

use super::DraftedTrip;
use crate::duplicates::{DuplicatePair, DuplicatesByNumber};

/// The format of the file; raised when a reader of the old format would misread it.
const DRAFT_DOCUMENT_FORMAT: u32 = 1;

/// A drafted trip.
#[derive(Debug, Serialize)]
pub(crate) struct DraftDocument<'a> {
    format: u32,
    trip: &'a str,
    software: &'static str,
    length_s: f64,
    drafts: Vec<NumberedDraft<'a>>,
    unanswered: Vec<DocumentCall>,
    doubts: &'a [Doubt],
}

#[derive(Debug, Serialize)]
struct NumberedDraft<'a> {
    number: i64,
    confirmed: bool,
    /// Pairs of entries that may be the same contact.
    duplicates: &'a [DuplicatePair],
    #[serde(flatten)]
    draft: &'a Draft,
}

#[derive(Debug, Serialize)]
struct DocumentCall {
    at_s: f64,
    why: &'static str,
}

impl<'a> DraftDocument<'a> {
    /// The drafts of a trip with the numbers that the logbook gave them.
    pub(crate) fn new(
        trip: &'a str,
        drafting: &'a DraftedTrip,
        numbers: &[i64],
        entries: &[Entry],
        pairs: &'a DuplicatesByNumber,
    ) -> Self {
        let drafts = drafting.drafts.iter().zip(numbers);
        let drafts = drafts.map(|(draft, &number)| NumberedDraft {
            number,
            confirmed: entries
                .iter()
                .any(|entry| entry.number == number && entry.contact.is_some()),
            duplicates: pairs.get(&number).map_or(&[], Vec::as_slice),
            draft,
        });
        Self {
            format: DRAFT_DOCUMENT_FORMAT,
            trip,
            software: concat!("jumpseat ", env!("CARGO_PKG_VERSION")),
            length_s: drafting.drive.length_s,
            drafts: drafts.collect(),
            unanswered: drafting.assembly.unanswered.iter().map(call).collect(),
            doubts: &drafting.doubts,
        }
    }
}

fn call(unanswered: &jumpseat_draft::UnansweredOver) -> DocumentCall {
    DocumentCall {
        at_s: (unanswered.at_s * 1e3).round() / 1e3,
        why: match unanswered.why {
            jumpseat_draft::UnansweredReason::NoAnswer => "no_answer",
            jumpseat_draft::UnansweredReason::NotPursued => "not_pursued",
        },
    }
}
