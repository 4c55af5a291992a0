//! Drafts of drives on which written conversations took place: every field of every contact,
//! by what occurs in its conversation.

use std::collections::{BTreeMap, BTreeSet};

use super::draft::{ScoredDraft, ScoredEntry, ScoredEntryKind, ScoredField};
use super::matching;
use super::verdict::FieldVerdict;
use crate::truth::{DriveTruth, TrueContact};

/// At and above this a value counts as stated for sure.
pub(crate) const SURE: f64 = 0.9;

/// A field of a contact as it is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum JudgedField {
    /// The call sign as the station gave it on the air.
    Sign,
    /// The call sign without what precedes or follows it.
    SignAlone,
    /// What precedes or follows it.
    Addition,
    /// Report given.
    Sent,
    /// Report received.
    Received,
    /// First name.
    Name,
    /// Town.
    Place,
    /// State or province.
    State,
    /// County.
    County,
    /// Locator.
    Locator,
    /// Reference of a park, summit, island or lighthouse.
    Reference,
    /// Serial number received.
    Serial,
    /// Zone.
    Zone,
}

impl JudgedField {
    /// All, with their names for tables and the names of the truth's other fields.
    pub const ALL: [(Self, &'static str, &'static [&'static str]); 13] = [
        (Self::Sign, "sign", &[]),
        (Self::SignAlone, "sign without addition", &[]),
        (Self::Addition, "addition", &[]),
        (Self::Sent, "report given", &[]),
        (Self::Received, "report received", &[]),
        (Self::Name, "name", &[]),
        (Self::Place, "place", &["place"]),
        (Self::State, "state", &["state"]),
        (Self::County, "county", &["county"]),
        (Self::Locator, "locator", &["grid"]),
        (
            Self::Reference,
            "reference",
            &["park", "summit", "island", "lighthouse"],
        ),
        (Self::Serial, "serial", &["serial"]),
        (Self::Zone, "zone", &["zone"]),
    ];
}

/// Why a contact is in no draft.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum MissedReason {
    /// The draft has nothing at that time.
    Nothing,
    /// The draft has only something to look at.
    ToLookAt,
    /// An entry lies there and is another contact's, or overlaps too little.
    Another,
}

/// A contact that took place, and what a draft has of it.
#[derive(Debug, Clone, PartialEq)]
pub struct JudgedContact {
    /// Where its conversation was written.
    pub place: String,
    /// What occurs in that conversation.
    pub kinds: BTreeSet<String>,
    /// Why it is in no draft; `None` where it was found.
    pub missed: Option<MissedReason>,
    /// Fields that were said, what the draft has of them, and how sure it says to be. None
    /// where the contact is missed.
    pub fields: BTreeMap<JudgedField, (FieldVerdict, Option<f64>)>,
    /// Fields that were said.
    pub said: BTreeSet<JudgedField>,
    /// Fields that were not said and that the draft fills.
    pub made_up: BTreeSet<JudgedField>,
    /// Error of the start in seconds.
    pub on_error_s: Option<f64>,
    /// Distance from the true place in metres.
    pub place_error_m: Option<f64>,
}

/// A conversation, and how many entries a draft has in it that are no contact of it.
#[derive(Debug, Clone, PartialEq)]
pub struct JudgedConversation {
    /// Where it was written.
    pub place: String,
    /// What occurs in it.
    pub kinds: BTreeSet<String>,
    /// Contacts that took place in it.
    pub contacts: usize,
    /// Contacts in the draft that are none of these.
    pub invented: usize,
}

/// A drive of written conversations, judged.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct JudgedDrive {
    /// Its length in hours.
    pub hours: f64,
    /// Every contact that took place.
    pub contacts: Vec<JudgedContact>,
    /// Every conversation.
    pub conversations: Vec<JudgedConversation>,
    /// Stated probabilities of call signs, and whether they were right.
    pub stated: Vec<(f64, bool)>,
}

/// Judges a draft.
///
/// # Errors
/// The truth's start is no time.
pub fn judge(truth: &DriveTruth, draft: &ScoredDraft) -> Result<JudgedDrive, chrono::ParseError> {
    let start = truth.start()?;
    let entries: Vec<&ScoredEntry> = of_kind(draft, ScoredEntryKind::Contact);
    let looks: Vec<(f64, f64)> = of_kind(draft, ScoredEntryKind::Look)
        .iter()
        .map(|entry| entry.span_s(start))
        .collect();
    let spans: Vec<(f64, f64)> = entries.iter().map(|entry| entry.span_s(start)).collect();
    let calls: Vec<Option<&str>> = entries
        .iter()
        .map(|entry| entry.call.value.as_deref())
        .collect();
    let pairs = matching::pairs(&truth.contacts, &spans, &calls);
    let mut judged = JudgedDrive {
        hours: truth.length_s / 3_600.0,
        ..JudgedDrive::default()
    };
    for conversation in &truth.conversations {
        judged.conversations.push(JudgedConversation {
            place: conversation.origin.place.clone(),
            kinds: conversation.origin.kinds.iter().cloned().collect(),
            contacts: 0,
            invented: 0,
        });
    }
    for (index, contact) in truth.contacts.iter().enumerate() {
        let conversation = contact
            .conversation
            .and_then(|at| judged.conversations.get_mut(at));
        let (place, kinds) = conversation.map_or_else(Default::default, |conversation| {
            conversation.contacts += 1;
            (conversation.place.clone(), conversation.kinds.clone())
        });
        let entry = pairs
            .iter()
            .find(|pair| pair.0 == index)
            .map(|pair| entries[pair.1]);
        let mut one = JudgedContact {
            place,
            kinds,
            missed: None,
            fields: BTreeMap::new(),
            said: said(contact),
            made_up: BTreeSet::new(),
            on_error_s: None,
            place_error_m: None,
        };
        match entry {
            Some(entry) => {
                fill(&mut one, contact, entry);
                one.on_error_s = Some(entry.span_s(start).0 - contact.on_s);
                let right = matches!(
                    one.fields.get(&JudgedField::Sign),
                    Some((FieldVerdict::Right, _))
                );
                judged
                    .stated
                    .extend(entry.call.probability.map(|stated| (stated, right)));
            }
            None => {
                let meets = |span: &&(f64, f64)| span.0 < contact.off_s && span.1 > contact.on_s;
                one.missed = Some(if spans.iter().any(|span| meets(&span)) {
                    MissedReason::Another
                } else if looks.iter().any(|span| meets(&span)) {
                    MissedReason::ToLookAt
                } else {
                    MissedReason::Nothing
                });
            }
        }
        judged.contacts.push(one);
    }
    for (index, span) in spans.iter().enumerate() {
        if pairs.iter().any(|pair| pair.1 == index) {
            continue;
        }
        judged.stated.extend(
            entries[index]
                .call
                .probability
                .map(|stated| (stated, false)),
        );
        let middle = (span.0 + span.1) / 2.0;
        let at = truth
            .conversations
            .iter()
            .rposition(|one| one.from_s <= middle)
            .unwrap_or_default();
        if let Some(conversation) = judged.conversations.get_mut(at) {
            conversation.invented += 1;
        }
    }
    Ok(judged)
}

fn of_kind(draft: &ScoredDraft, kind: ScoredEntryKind) -> Vec<&ScoredEntry> {
    draft
        .drafts
        .iter()
        .filter(|entry| entry.kind == kind)
        .collect()
}

/// The sign without addition, and the addition: ("N8UYD", "/9"), ("KB0QSE", "F/").
fn parted(call: &str) -> (&str, String) {
    let home = call
        .split('/')
        .max_by_key(|part| part.len())
        .unwrap_or(call);
    (home, call.replacen(home, "", 1))
}

fn said(contact: &TrueContact) -> BTreeSet<JudgedField> {
    JudgedField::ALL
        .into_iter()
        .filter(|(field, _, names)| match field {
            JudgedField::Sign | JudgedField::SignAlone => true,
            JudgedField::Addition => !parted(&contact.call).1.is_empty(),
            JudgedField::Sent => contact.sent.is_some(),
            JudgedField::Received => contact.received.is_some(),
            JudgedField::Name => contact.name.is_some(),
            _ => names
                .iter()
                .any(|name| contact.exchanged.contains_key(*name)),
        })
        .map(|(field, ..)| field)
        .collect()
}

fn fill(one: &mut JudgedContact, contact: &TrueContact, entry: &ScoredEntry) {
    let blank = ScoredField::default();
    for (field, _, names) in JudgedField::ALL {
        let (of, verdict) = match field {
            JudgedField::Sign => (
                &entry.call,
                Some(FieldVerdict::compare_any(&entry.call, &contact.call)),
            ),
            JudgedField::SignAlone => {
                let alone = entry.call.map(|call| parted(call).0.to_owned());
                (
                    &entry.call,
                    Some(FieldVerdict::compare_any(&alone, parted(&contact.call).0)),
                )
            }
            JudgedField::Addition => {
                let addition = entry.call.map(|call| parted(call).1);
                let verdict = match (&addition.value, parted(&contact.call).1) {
                    (Some(value), _) if value.is_empty() => FieldVerdict::Blank,
                    (_, truth) => FieldVerdict::compare_any(&addition, &truth),
                };
                (&entry.call, Some(verdict))
            }
            JudgedField::Sent => (&entry.sent, any(&entry.sent, contact.sent.as_deref())),
            JudgedField::Received => (
                &entry.received,
                any(&entry.received, contact.received.as_deref()),
            ),
            JudgedField::Name => {
                let name = entry.name.map(|name| name.to_lowercase());
                let truth = contact.name.as_ref().map(|name| name.to_lowercase());
                (&entry.name, any(&name, truth.as_deref()))
            }
            _ => {
                let truth = names.iter().find_map(|name| contact.exchanged.get(*name));
                let of = names.iter().find_map(|name| entry.exchanged.get(*name));
                let of = of.unwrap_or(&blank);
                (of, any(of, truth.map(String::as_str)))
            }
        };
        if one.said.contains(&field) {
            one.fields
                .extend(verdict.map(|verdict| (field, (verdict, of.probability))));
        } else if of.value.is_some() && !matches!(field, JudgedField::Addition) {
            one.made_up.insert(field);
        }
    }
    let place = entry.lat.value.zip(entry.lon.value);
    one.place_error_m =
        place.map(|(lat, lon)| crate::scenario::distance_m((lat, lon), (contact.lat, contact.lon)));
}

fn any(field: &ScoredField<String>, truth: Option<&str>) -> Option<FieldVerdict> {
    truth.map(|truth| FieldVerdict::compare_any(field, truth))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sign_is_parted_from_its_addition() {
        for (call, home, addition) in [
            ("N8UYD", "N8UYD", ""),
            ("N8UYD/9", "N8UYD", "/9"),
            ("F/KB0QSE", "KB0QSE", "F/"),
            ("VP2M/K1ABC", "K1ABC", "VP2M/"),
        ] {
            assert_eq!(parted(call), (home, addition.to_owned()), "{call}");
        }
    }
}
