//! The fields of a record in ADIF 3.1.6, and what text each can hold.

use std::collections::BTreeMap;
use std::sync::LazyLock;

/// A field a line: its name, and its kind where that is not one line of ASCII.
/// From the field table of the specification; `tests/outside/adif_spec.py` compares the
/// two.
static FIELDS: LazyLock<BTreeMap<&str, AdifTextKind>> = LazyLock::new(|| {
    let lines = include_str!("fields.txt").lines();
    lines
        .map(|line| line.split_once(' ').unwrap_or((line, "")))
        .map(|(name, kind)| {
            let kind = match kind {
                "lines" => AdifTextKind::Lines,
                "intl" => AdifTextKind::Intl,
                "intl-lines" => AdifTextKind::IntlLines,
                _ => AdifTextKind::Line,
            };
            (name, kind)
        })
        .collect()
});

/// What text a field holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum AdifTextKind {
    /// One line of ASCII.
    Line,
    /// Lines of ASCII.
    Lines,
    /// One line of any characters, in ADX files only.
    Intl,
    /// Lines of any characters, in ADX files only.
    IntlLines,
}

/// What a field holds; `None` for one that the specification does not have.
pub(super) fn holds(name: &str) -> Option<AdifTextKind> {
    FIELDS.get(name).copied()
}

/// Whether a program defines the field for itself, such as `APP_PROGRAM_FIELD`.
pub(super) fn is_application(name: &str) -> bool {
    name.strip_prefix("APP_")
        .is_some_and(|rest| rest.contains('_'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_field_holds() {
        for (name, expected) in [
            ("CALL", Some(AdifTextKind::Line)),
            ("NOTES", Some(AdifTextKind::Lines)),
            ("NAME_INTL", Some(AdifTextKind::Intl)),
            ("NOTES_INTL", Some(AdifTextKind::IntlLines)),
            ("USERDEF1", None),
            ("APP_X_Y", None),
        ] {
            assert_eq!(holds(name), expected, "{name}");
        }
    }
}
