//! Makes text fit for an ADI file.

use super::spec::AdifTextKind;

/// Characters 32 to 126 only, and whether that is the text as it was given.
/// Line breaks and tabs become spaces, other control characters vanish, other
/// scripts become their nearest ASCII form.
pub(super) fn ascii(text: &str) -> (String, bool) {
    let flat = text.replace("\r\n", " ").replace(['\t', '\n', '\r'], " ");
    let mut written = deunicode::deunicode_with_tofu(&flat, "");
    written.retain(|character| (' '..='~').contains(&character));
    let written = written.trim().to_owned();
    let same = written == text;
    (written, same)
}

/// The same for a field that may hold several lines; they are joined by `\n`.
pub(super) fn fitting(text: &str, holds: AdifTextKind) -> (String, bool) {
    if !matches!(holds, AdifTextKind::Lines | AdifTextKind::IntlLines) {
        return ascii(text);
    }
    let lines: Vec<String> = text.lines().map(|line| ascii(line).0).collect();
    let written = lines.join("\n").trim().to_owned();
    let same = written == text;
    (written, same)
}

/// The text with `<EOR>` and `<EOH>` in round brackets, because many readers end a record
/// or header there regardless of a field's length. And whether nothing was changed.
pub(super) fn without_ends(text: &str) -> (String, bool) {
    let mut written = text.to_owned();
    for word in ["<EOR>", "<EOH>"] {
        // ASCII changes its case without changing its length.
        while let Some(at) = written.to_ascii_uppercase().find(word) {
            let inner = written[at + 1..at + 4].to_owned();
            written.replace_range(at..at + 5, &format!("({inner})"));
        }
    }
    let same = written == text;
    (written, same)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[track_caller]
    fn check(text: &str, expected: &str) {
        assert_eq!(ascii(text), (expected.to_owned(), text == expected));
    }

    #[test]
    fn keeps_ascii_and_comes_near_to_the_rest() {
        check("Ruth", "Ruth");
        check("", "");
        check("Jürgen Ångström", "Jurgen Angstrom");
        check("Straße", "Strasse");
        check("Łódź", "Lodz");
        check("Иван", "Ivan");
        check("a\u{7}b\tc\r\nd", "ab c d");
        check("\u{10ffff}", "");
    }

    #[test]
    fn lines_stay_lines_where_a_field_may_hold_them() {
        let text = "Zoë\nat the pass";
        assert_eq!(
            fitting(text, AdifTextKind::Lines),
            ("Zoe\nat the pass".into(), false)
        );
        assert_eq!(
            fitting(text, AdifTextKind::Line),
            ("Zoe at the pass".into(), false)
        );
    }

    #[test]
    fn no_value_can_end_a_record() {
        assert_eq!(without_ends("a<Eor>b<EOH>"), ("a(Eor)b(EOH)".into(), false));
        assert_eq!(without_ends("<E0R> <EOR"), ("<E0R> <EOR".into(), true));
    }

    proptest! {
        #[test]
        fn whatever_comes_is_printable_ascii(text in "\\PC*|[\\x00-\\x1f]*") {
            let (written, same) = ascii(&text);
            prop_assert!(written.bytes().all(|byte| (32..=126).contains(&byte)));
            prop_assert_eq!(same, written == text);
        }
    }
}
