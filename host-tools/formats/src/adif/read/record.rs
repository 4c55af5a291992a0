//! A record as it stands in a file, and the trait that receives records.

use jumpseat_entries::ExtraField;

use crate::reading::ReadComplaints;

/// One record as it stood in the file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct AdifRecord {
    /// Line of its first field, from 1.
    pub(super) line: usize,
    /// In the order of the file; names in upper case, values without space around
    /// them.
    pub(super) fields: Vec<ExtraField>,
}

/// Receives the records of a file.
pub(super) trait RecordSink<E> {
    /// Fields that the user of the other log defined: name, kind, allowed values.
    fn define(&mut self, definitions: Vec<ExtraField>);
    /// A record, and the byte behind it.
    fn record(&mut self, raw: AdifRecord, behind: usize) -> Result<(), E>;
    fn complaints(&mut self) -> &mut ReadComplaints;
}

/// Whether a field belongs to the header and says nothing about a contact.
pub(super) fn is_header(name: &str) -> bool {
    matches!(
        name,
        "ADIF_VER" | "CREATED_TIMESTAMP" | "PROGRAMID" | "PROGRAMVERSION"
    ) || name.strip_prefix("USERDEF").is_some_and(|number| {
        !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit())
    })
}

/// Whether a text is a data type indicator (ADIF 3.1.6, "Data Types").
pub(super) fn is_kind(text: &str) -> bool {
    text.len() == 1 && text.bytes().all(|byte| byte.is_ascii_alphabetic())
}

/// A definition such as "SweaterSize,{S,M,L}".
pub(super) fn defined(text: &str, kind: Option<String>) -> ExtraField {
    let (name, limits) = match text.split_once(',') {
        Some((name, limits)) => (name, limits),
        None => (text, ""),
    };
    ExtraField {
        name: name.trim().to_uppercase(),
        value: String::new(),
        kind,
        user: Some(limits.split_whitespace().collect()),
    }
}
