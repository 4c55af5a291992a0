//! What the pages show, as plain values without markup.

mod call_sign_remark;
mod contact;
mod heard_words;
mod listening_spots;
mod overview;
mod said_text;
mod totals;

pub(crate) use call_sign_remark::CallSignRemark;
pub(crate) use contact::{EntryState, EntryView, FieldView};
pub(crate) use heard_words::{StripWord, heard};
pub(crate) use listening_spots::spots;
pub(crate) use overview::{TripOverview, TripStretch};
pub(crate) use said_text::said;
pub(crate) use totals::TripTotals;
