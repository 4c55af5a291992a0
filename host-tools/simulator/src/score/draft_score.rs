//! What a draft is worth.

use serde::Serialize;

use super::verdict::FieldVerdict;

/// What a draft is worth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DraftScore {
    /// Contacts that took place.
    pub contacts: usize,
    /// Length of the drive in hours.
    pub hours: f64,
    /// How many of them the draft has.
    pub found: usize,
    /// Those that the draft does not have: their call signs and starts in seconds.
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
