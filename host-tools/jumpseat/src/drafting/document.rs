//! The draft as a JSON file, for programs.

use jumpseat_entries::{Draft, Entry};
use serde::Serialize;

use super::Drafting;
use crate::twins::{ByNumber, Twins};

/// The form of the file; raised when a reader of the old form would go wrong.
const FORMAT: u32 = 1;

/// A drafted trip.
#[derive(Debug, Serialize)]
pub(crate) struct Document<'a> {
    format: u32,
    trip: &'a str,
    software: &'static str,
    length_s: f64,
    drafts: Vec<Numbered<'a>>,
    unanswered: Vec<Call>,
    doubts: &'a [String],
}

#[derive(Debug, Serialize)]
struct Numbered<'a> {
    number: i64,
    confirmed: bool,
    /// Entries that may be the same contact, each with both sides.
    duplicates: &'a [Twins],
    #[serde(flatten)]
    draft: &'a Draft,
}

#[derive(Debug, Serialize)]
struct Call {
    at_s: f64,
    why: &'static str,
}

impl<'a> Document<'a> {
    /// The drafts of a trip with the numbers that the logbook gave them.
    pub(crate) fn new(
        trip: &'a str,
        drafting: &'a Drafting,
        numbers: &[i64],
        entries: &[Entry],
        twins: &'a ByNumber,
    ) -> Self {
        let drafts = drafting.drafts.iter().zip(numbers);
        let drafts = drafts.map(|(draft, &number)| Numbered {
            number,
            confirmed: entries
                .iter()
                .any(|entry| entry.number == number && entry.contact.is_some()),
            duplicates: twins.get(&number).map_or(&[], Vec::as_slice),
            draft,
        });
        Self {
            format: FORMAT,
            trip,
            software: concat!("jumpseat ", env!("CARGO_PKG_VERSION")),
            length_s: drafting.drive.length_s,
            drafts: drafts.collect(),
            unanswered: drafting.assembly.unanswered.iter().map(call).collect(),
            doubts: &drafting.doubts,
        }
    }
}

fn call(unanswered: &jumpseat_draft::Unanswered) -> Call {
    Call {
        at_s: (unanswered.at_s * 1e3).round() / 1e3,
        why: match unanswered.why {
            jumpseat_draft::Why::NoAnswer => "no_answer",
            jumpseat_draft::Why::NotPursued => "not_pursued",
        },
    }
}
