//! Text as an ADI file can hold it.

/// Characters 32 to 126 only, and whether that is the text as it was given.
/// Line breaks and tabs become spaces, other control characters vanish, other
/// scripts become their nearest ASCII form.
pub(super) fn ascii(text: &str) -> (String, bool) {
    let plain = deunicode::deunicode_with_tofu(text, "");
    let mut written = String::with_capacity(plain.len());
    for character in plain.chars() {
        match character {
            ' '..='~' => written.push(character),
            '\t' | '\n' => written.push(' '),
            _ => {}
        }
    }
    let written = written.trim().to_owned();
    let same = written == text;
    (written, same)
}

#[cfg(test)]
mod tests {
    use super::ascii;
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

    proptest! {
        #[test]
        fn whatever_comes_is_printable_ascii(text in "\\PC*|[\\x00-\\x1f]*") {
            let (written, same) = ascii(&text);
            prop_assert!(written.bytes().all(|byte| (32..=126).contains(&byte)));
            prop_assert_eq!(same, written == text);
        }
    }
}
