//! Which names of a source may become names in the library.

/// Bytes of a name; longer ones do not fit on every disk.
const MAX_NAME_BYTES: usize = 120;

/// Names that Windows takes for a device, whatever extension follows (Microsoft, "Naming Files,
/// Paths, and Namespaces"); COM1 to COM9 and LPT1 to LPT9 are devices too.
const WINDOWS_DEVICES: [&str; 4] = ["con", "prn", "aux", "nul"];

/// Whether a name is a plain file or folder name on every system: it leads neither up nor
/// elsewhere, and a terminal or a shell takes it for nothing more.
pub(crate) fn is_plain_name(name: &str) -> bool {
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

/// Whether a name may be that of a trip's folder.
pub(crate) fn is_trip_name(name: &str) -> bool {
    name.starts_with("trip-") && is_plain_name(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(name: &str, plain: bool) {
        assert_eq!(is_plain_name(name), plain, "{name:?}");
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
        assert!(is_trip_name("trip-000017-3fa2c1"));
        assert!(!is_trip_name("trip-/../.."));
        assert!(!is_trip_name(".ssh"));
    }
}
