//! The output of the assembly: contacts and calls without one.

use jumpseat_values::{DialSetting, Doubt, Estimate};

/// What a draft is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DraftEntryKind {
    /// Overs that make a contact.
    Contact,
    /// Not a contact by itself, but the operator pressed the mark there.
    Look,
}

/// One entry of the draft.
#[derive(Debug, Clone, PartialEq)]
pub struct DraftContact {
    /// What it is.
    pub kind: DraftEntryKind,
    /// Start of the first over of the contact, in seconds of trip time.
    pub on_s: f64,
    /// End of its last over, be it transmitted or received.
    pub off_s: f64,
    /// Indices into [`crate::AssemblyInput::overs`] of the overs that belong to it, in order.
    pub overs: Vec<usize>,
    /// Marks that belong to it, in seconds of trip time.
    pub marks: Vec<f64>,
    /// The dial when it began.
    pub dial: Estimate<DialSetting>,
    /// The other station's call sign.
    pub call: Estimate<String>,
    /// The report given to the other station.
    pub sent: Estimate<String>,
    /// The report that the other station gave.
    pub received: Estimate<String>,
    /// The other operator's name.
    pub name: Estimate<String>,
    /// The other station's locator; without one, its evidence is where a place may have
    /// been said.
    pub their_locator: Estimate<String>,
    /// A number or a reference that was given, such as "number 1793".
    pub remark: Estimate<String>,
    /// Doubts about the entry as a whole.
    pub doubts: Vec<Doubt>,
}

/// Why calls did not become a contact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum UnansweredReason {
    /// Nothing came back.
    NoAnswer,
    /// Something came back, but it was not replied to.
    NotPursued,
}

/// A transmission that belongs to no contact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnansweredOver {
    /// Index into [`crate::AssemblyInput::overs`].
    pub over: usize,
    /// Its start in seconds of trip time.
    pub at_s: f64,
    /// Why it is not a contact.
    pub why: UnansweredReason,
}

/// All of a draft.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct DraftAssembly {
    /// Entries in order of their start.
    pub contacts: Vec<DraftContact>,
    /// Calls that became no contact, so that every transmission is accounted for.
    pub unanswered: Vec<UnansweredOver>,
    /// Doubts about the drive as a whole.
    pub doubts: Vec<Doubt>,
    /// The call sign that was taken for the operator's own, because nobody gave one.
    pub taken_for_own: Option<String>,
}
