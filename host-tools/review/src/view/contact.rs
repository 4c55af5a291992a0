//! An entry as the pages show it.

use chrono::{DateTime, Utc};
use jumpseat_entries::fields::EditForm;
use jumpseat_entries::{
    ContactField, Draft, DraftKind, Entry, EntryVerdict, OwnStation, likely_contact,
};
use jumpseat_values::{Doubt, Estimate};

/// How far a person is with an entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum EntryState {
    /// Not decided.
    Open,
    /// Put off.
    Later,
    /// Confirmed.
    Confirmed,
    /// A person called it no contact.
    NotAContact,
}

impl EntryState {
    pub(crate) fn of(entry: &Entry) -> Self {
        match (&entry.contact, entry.review.verdict) {
            (Some(_), _) => Self::Confirmed,
            (None, Some(EntryVerdict::Later)) => Self::Later,
            (None, Some(EntryVerdict::NotAContact)) => Self::NotAContact,
            (None, None) => Self::Open,
        }
    }

    /// For people.
    pub(crate) const fn label(self) -> &'static str {
        match self {
            Self::Open => "to decide",
            Self::Later => "later",
            Self::Confirmed => "confirmed",
            Self::NotAContact => "not a contact",
        }
    }

    /// The class in the style sheet.
    pub(crate) const fn class(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Later => "later",
            Self::Confirmed => "confirmed",
            Self::NotAContact => "no",
        }
    }

    /// A person still has to decide.
    pub(crate) const fn is_open(self) -> bool {
        matches!(self, Self::Open | Self::Later)
    }
}

/// Another value that was heard.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct HeardChoice {
    pub(crate) text: String,
    /// 0 to 1.
    pub(crate) probability: f64,
}

/// A value as the page shows it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct FieldView {
    pub(crate) field: ContactField,
    /// The text of the field: typed, confirmed or drafted.
    pub(crate) text: String,
    /// The text before something was typed.
    pub(crate) before: String,
    /// How likely the drafted value is; `None` if no model stated it.
    pub(crate) probability: Option<f64>,
    pub(crate) choices: Vec<HeardChoice>,
    pub(crate) doubts: Vec<Doubt>,
    /// Where it was heard, in seconds of trip time.
    pub(crate) heard_s: Vec<(f64, f64)>,
}

impl FieldView {
    /// How the field is edited.
    pub(crate) fn form(&self) -> &'static EditForm {
        let definition = self.field.definition();
        definition.edit.as_ref().unwrap_or(&EditForm::PLAIN)
    }
}

/// An entry as the page shows it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct EntryView {
    pub(crate) number: i64,
    pub(crate) trip: Option<String>,
    pub(crate) state: EntryState,
    /// The draft found a mark and no contact.
    pub(crate) look: bool,
    pub(crate) marked: bool,
    pub(crate) call: Option<String>,
    pub(crate) probability: Option<f64>,
    pub(crate) on: Option<DateTime<Utc>>,
    pub(crate) on_s: Option<f64>,
    pub(crate) off_s: Option<f64>,
    pub(crate) band: Option<String>,
    pub(crate) hz: Option<u64>,
    pub(crate) mode: Option<String>,
    pub(crate) locator: Option<String>,
    pub(crate) area: Option<String>,
    pub(crate) place: Option<(f64, f64)>,
    /// Doubts about the entry as a whole.
    pub(crate) doubts: Vec<Doubt>,
    pub(crate) values: Vec<FieldView>,
}

impl EntryView {
    pub(crate) fn from_entry(entry: &Entry, own: &OwnStation) -> Self {
        let draft = entry.draft.as_ref();
        let mut doubts = draft.map(|draft| draft.doubts.clone()).unwrap_or_default();
        let contact = likely_contact(entry, own, &mut doubts);
        let values: Vec<FieldView> = ContactField::editable()
            .map(|field| {
                let before = field.text(&contact).unwrap_or_default();
                let typed = entry.review.edits.get(&field);
                let text = typed.unwrap_or(&before).clone();
                value(field, text, before, draft)
            })
            .collect();
        let call = values
            .iter()
            .find(|value| value.field == ContactField::Call)
            .map(|value| value.text.clone());
        Self {
            number: entry.number,
            trip: entry.trip.clone(),
            state: EntryState::of(entry),
            look: draft.is_some_and(|draft| draft.kind == DraftKind::Look),
            marked: draft.is_some_and(|draft| !draft.marks_s.is_empty()),
            call: call.filter(|call| !call.is_empty()),
            probability: draft.and_then(|draft| draft.call.probability),
            on: entry.on(),
            on_s: draft.map(|draft| draft.on_s),
            off_s: draft.map(|draft| draft.off_s),
            band: entry.band().map(str::to_owned),
            hz: entry.hz(),
            mode: entry.mode().map(str::to_owned),
            locator: entry.locator().map(str::to_owned),
            area: entry.area().map(|area| area.short.clone()),
            place: entry.position(),
            doubts,
            values,
        }
    }
}

fn value(field: ContactField, text: String, before: String, draft: Option<&Draft>) -> FieldView {
    let mut value = FieldView {
        field,
        text,
        before,
        probability: None,
        choices: Vec::new(),
        doubts: Vec::new(),
        heard_s: Vec::new(),
    };
    let Some(draft) = draft else { return value };
    value.doubts = field.definition().doubts(draft);
    if let Some(heard) = draft.heard(field) {
        hear(&mut value, heard);
    }
    value
}

fn hear(value: &mut FieldView, field: &Estimate<String>) {
    value.probability = field.probability;
    let first = field.value.iter().map(|text| HeardChoice {
        text: text.clone(),
        probability: field.probability.unwrap_or(0.0),
    });
    let others = field.alternatives.iter().map(|other| HeardChoice {
        text: other.value.clone(),
        probability: other.probability,
    });
    value.choices = first.chain(others).collect();
    value.heard_s = field
        .evidence
        .iter()
        .map(|evidence| (evidence.start_s, evidence.end_s))
        .collect();
}
