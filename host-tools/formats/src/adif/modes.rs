//! Modes of old files, as today's specification names them.

/// ADIF 3.1.6, enumerations `Mode` (its entries for import only) and `Submode`:
/// each with the mode that it is a submode of today.
const OLD_MODES: &str = include_str!("old_modes.txt");

/// Many programs write a sideband as the mode (common practice).
const SIDEBANDS: [&str; 2] = ["USB", "LSB"];

/// MODE and SUBMODE of a mode as a file has it.
pub(super) fn current_mode(word: &str) -> (String, Option<String>) {
    let word = word.to_uppercase();
    if SIDEBANDS.contains(&word.as_str()) {
        return ("SSB".to_owned(), Some(word));
    }
    let known = OLD_MODES
        .lines()
        .filter_map(|line| line.split_once(' '))
        .find(|(old, _)| *old == word);
    match known {
        Some((_, mode)) => (mode.to_owned(), Some(word)),
        None => (word, None),
    }
}

#[cfg(test)]
mod tests {
    use super::current_mode;

    #[track_caller]
    fn check(word: &str, mode: &str, submode: Option<&str>) {
        assert_eq!(
            current_mode(word),
            (mode.to_owned(), submode.map(str::to_owned))
        );
    }

    #[test]
    fn old_modes_become_submodes_of_today() {
        check("ssb", "SSB", None);
        check("usb", "SSB", Some("USB"));
        check("PSK31", "PSK", Some("PSK31"));
        check("C4FM", "DIGITALVOICE", Some("C4FM"));
        check("FT8", "FT8", None);
    }
}
