//! Names and reports in the text of overs.
//!
//! The text has every word, where the recogniser's other output has those of its vocabulary:
//! names that are on no list, and what people say around a report.

mod called;
mod given;
mod introduction;
mod letters;
mod phrase;
mod reports;

pub(super) use called::called_names;
pub(super) use given::{given_names, own_names};
pub(super) use reports::written_reports;
