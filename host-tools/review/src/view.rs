//! What the pages show, as plain values: nothing here is text for a page.

mod contact;
mod glance;
mod spots;
mod totals;
mod words;

pub(crate) use contact::{Shown, State, Value};
pub(crate) use glance::{Glance, Stretch};
pub(crate) use spots::spots;
pub(crate) use totals::Totals;
pub(crate) use words::{Heard, heard};
