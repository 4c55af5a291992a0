//! The fields of a record in ADIF 3.1.6, and what text they hold.

use std::collections::BTreeMap;
use std::sync::LazyLock;

/// A field a line: its name, and its kind where that is not one line of ASCII.
/// From the specification's field table; `tests/outside/adif_spec.py` holds them
/// to it.
static FIELDS: LazyLock<BTreeMap<&str, Holds>> = LazyLock::new(|| {
    let lines = include_str!("fields.txt").lines();
    lines
        .map(|line| line.split_once(' ').unwrap_or((line, "")))
        .map(|(name, kind)| {
            let kind = match kind {
                "lines" => Holds::Lines,
                "intl" => Holds::Intl,
                "intl-lines" => Holds::IntlLines,
                _ => Holds::Line,
            };
            (name, kind)
        })
        .collect()
});

/// What text a field holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Holds {
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
pub(super) fn holds(name: &str) -> Option<Holds> {
    FIELDS.get(name).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_field_holds() {
        for (name, expected) in [
            ("CALL", Some(Holds::Line)),
            ("NOTES", Some(Holds::Lines)),
            ("NAME_INTL", Some(Holds::Intl)),
            ("NOTES_INTL", Some(Holds::IntlLines)),
            ("USERDEF1", None),
            ("APP_X_Y", None),
        ] {
            assert_eq!(holds(name), expected, "{name}");
        }
    }
}
