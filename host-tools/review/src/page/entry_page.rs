//! What the page of an entry is made from.

use jumpseat_entries::Entry;

use crate::open_trips::OpenTrip;
use crate::view::{CallSignRemark, EntryView};

/// An entry and all that is shown with it.
pub(crate) struct EntryPage<'a> {
    pub(crate) shown: EntryView,
    pub(crate) entry: &'a Entry,
    pub(crate) seen: i64,
    pub(crate) open: Option<&'a OpenTrip>,
    /// The entries beside it, each with what was seen of it.
    pub(crate) before: Option<(&'a EntryView, i64)>,
    pub(crate) after: Option<(&'a EntryView, i64)>,
    /// How many entries of the trip are not decided.
    pub(crate) left: usize,
    pub(crate) check: Vec<CallSignRemark>,
    pub(crate) wrong: Option<&'a str>,
    /// How a command begins.
    pub(crate) command: String,
}
