//! Modes: from rig control's words to those of the ADIF enumeration.
//!
//! Source: ADIF 3.1.x, "Mode Enumeration" and "Submode Enumeration"; rig control's
//! words are those of the rig-control daemon's protocol. Both from memory.

/// A mode as ADIF writes it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct AdifMode {
    /// MODE.
    pub mode: &'static str,
    /// SUBMODE, where the mode alone does not say it.
    pub submode: Option<&'static str>,
}

/// Rig control's word, MODE, SUBMODE.
const RIG_MODES: &[(&str, &str, Option<&str>)] = &[
    ("USB", "SSB", Some("USB")),
    ("LSB", "SSB", Some("LSB")),
    // Sideband with the sound from a data jack: what is sent is not known, the
    // sideband is.
    ("PKTUSB", "SSB", Some("USB")),
    ("PKTLSB", "SSB", Some("LSB")),
    ("ECSSUSB", "SSB", Some("USB")),
    ("ECSSLSB", "SSB", Some("LSB")),
    ("CW", "CW", None),
    ("CWR", "CW", None),
    ("CW-R", "CW", None),
    ("CWU", "CW", None),
    ("CWL", "CW", None),
    ("AM", "AM", None),
    ("AMS", "AM", None),
    ("SAM", "AM", None),
    ("PKTAM", "AM", None),
    ("FM", "FM", None),
    ("FMN", "FM", None),
    ("WFM", "FM", None),
    ("PKTFM", "FM", None),
    ("PKTFMN", "FM", None),
    ("RTTY", "RTTY", None),
    ("RTTYR", "RTTY", None),
    ("RTTY-R", "RTTY", None),
    ("DSTAR", "DIGITALVOICE", Some("DSTAR")),
    ("C4FM", "DIGITALVOICE", Some("C4FM")),
    ("DV", "DIGITALVOICE", None),
    ("SSB", "SSB", None),
];

/// The ADIF mode of rig control's word, in either case; `None` for a word that
/// has no place in the enumeration.
pub fn adif_mode(word: &str) -> Option<AdifMode> {
    RIG_MODES
        .iter()
        .find(|(name, ..)| name.eq_ignore_ascii_case(word.trim()))
        .map(|&(_, mode, submode)| AdifMode { mode, submode })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(word: &str, expected: Option<(&str, Option<&str>)>) {
        let found = adif_mode(word).map(|mode| (mode.mode, mode.submode));
        assert_eq!(found, expected, "{word}");
    }

    #[test]
    fn words_of_rig_control_have_their_place_in_the_enumeration() {
        check("USB", Some(("SSB", Some("USB"))));
        check("LSB", Some(("SSB", Some("LSB"))));
        check("PKTUSB", Some(("SSB", Some("USB"))));
        check("FM", Some(("FM", None)));
        check("PKTFM", Some(("FM", None)));
        check("AM", Some(("AM", None)));
        check("CWR", Some(("CW", None)));
        check(" usb\n", Some(("SSB", Some("USB"))));
    }

    #[test]
    fn words_without_a_place_have_none() {
        check("", None);
        check("USBX", None);
        check("SPEC", None);
    }

    #[test]
    fn no_word_stands_twice() {
        for (index, (word, ..)) in RIG_MODES.iter().enumerate() {
            let first = RIG_MODES.iter().position(|(other, ..)| other == word);
            assert_eq!(first, Some(index), "{word}");
        }
    }
}
