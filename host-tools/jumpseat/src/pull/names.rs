//! Names that a source gives, and which of them may become names in the library.

/// Longer names do not fit on every disk.
const MAX_NAME_BYTES: usize = 120;

/// What Windows takes for a device, whatever ending follows (Microsoft, "Naming Files,
/// Paths, and Namespaces"); so do COM1 to COM9 and LPT1 to LPT9.
const WINDOWS_DEVICES: [&str; 4] = ["con", "prn", "aux", "nul"];

/// Whether it is the plain name of one file or folder on every system: no way up,
/// no way elsewhere, nothing that a terminal or a shell would take for more.
pub(super) fn is_plain(name: &str) -> bool {
    let plain = |c: char| !c.is_control() && !"/\\:*?\"<>|".contains(c);
    !name.is_empty()
        && name.len() <= MAX_NAME_BYTES
        && name.chars().all(plain)
        && !name.ends_with(['.', ' '])
        && !is_device(name)
}

fn is_device(name: &str) -> bool {
    let stem = name.split('.').next().unwrap_or_default();
    let stem = stem.trim_end().to_ascii_lowercase();
    let numbered = |port: &str| {
        let number = stem.strip_prefix(port);
        number.is_some_and(|number| matches!(number.as_bytes(), [b'1'..=b'9']))
    };
    WINDOWS_DEVICES.contains(&stem.as_str()) || numbered("com") || numbered("lpt")
}

/// Whether it may be the name of a trip's folder.
pub(super) fn is_trip(name: &str) -> bool {
    name.starts_with("trip-") && is_plain(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(name: &str, plain: bool) {
        assert_eq!(is_plain(name), plain, "{name:?}");
    }

    #[test]
    fn only_plain_names_come_into_the_library() {
        check("000001-rx.wav", true);
        check("trip.json", true);
        check("Grüße 1.txt", true);
        check("", false);
        check(".", false);
        check("..", false);
        check("../trip-000001-3fa2c1", false);
        check("a/b", false);
        check("/etc/passwd", false);
        check("..\\up", false);
        check("C:x", false);
        check("stream:hidden", false);
        check("nul\0", false);
        check("line\nbreak", false);
        check("\u{1b}[2J", false);
        check("ends.", false);
        check("ends ", false);
        check("NUL", false);
        check("con.wav", false);
        check("aux .wav", false);
        check("Com1.txt", false);
        check("lpt9", false);
        check("com0", true);
        check("com10.wav", true);
        check("console.wav", true);
        check(".con", true);
        check(&"n".repeat(120), true);
        check(&"n".repeat(121), false);
    }

    #[test]
    fn a_trip_is_named_as_one() {
        assert!(is_trip("trip-000017-3fa2c1"));
        assert!(!is_trip("trip-/../.."));
        assert!(!is_trip(".ssh"));
    }
}
