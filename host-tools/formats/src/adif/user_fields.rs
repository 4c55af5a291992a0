//! Fields that the user of another log defined: the header of a file must define them.

use std::collections::BTreeSet;

use super::exportable;
use super::text::ascii;
use jumpseat_entries::{Contact, ExtraField};

/// The definitions that a file of these contacts needs, each name once; the first contact
/// that has the field decides its limits. `every`: the file can hold every character.
pub(super) fn definitions(contacts: &[Contact], every: bool) -> Vec<&ExtraField> {
    let mut names = BTreeSet::new();
    contacts
        .iter()
        .filter(|contact| exportable(contact).is_ok())
        .flat_map(|contact| &contact.more)
        .filter(|extra| extra.user.is_some() && is_written(extra, every))
        .filter(|extra| names.insert(extra.name.as_str()))
        .collect()
}

/// Whether something of the value is left in the file.
fn is_written(extra: &ExtraField, every: bool) -> bool {
    let whole = every && matches!(extra.kind.as_deref(), Some("I" | "G"));
    whole || !ascii(&extra.value).0.is_empty()
}
