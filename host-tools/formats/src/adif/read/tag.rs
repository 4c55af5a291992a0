//! Tags of an ADI file: `<NAME:length:type>`, `<EOH>`, `<EOR>`.

/// A tag and where it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct AdiTag<'a> {
    /// Byte of its `<`.
    pub(super) start: usize,
    /// Byte after its `>`.
    pub(super) end: usize,
    pub(super) name: &'a [u8],
    /// What stands after the first colon; a tag without one ends a header or a
    /// record.
    pub(super) length: Option<&'a [u8]>,
    /// What stands after the second colon.
    pub(super) kind: Option<&'a [u8]>,
}

impl AdiTag<'_> {
    pub(super) fn is(&self, name: &[u8]) -> bool {
        self.length.is_none() && self.name.eq_ignore_ascii_case(name)
    }

    /// The length that it states, if that is a number.
    pub(super) fn declared(&self) -> Option<usize> {
        std::str::from_utf8(self.length?).ok()?.trim().parse().ok()
    }
}

/// A tag longer than this is text, so looking for its end stays cheap.
pub(super) const LONGEST_TAG: usize = 200;

/// The next tag at or after a byte. What else stands in angle brackets is text.
pub(super) fn next(bytes: &[u8], from: usize) -> Option<AdiTag<'_>> {
    let mut at = from;
    loop {
        let start = at + bytes.get(at..)?.iter().position(|byte| *byte == b'<')?;
        at = start + 1;
        let inside = bytes.get(at..)?;
        let inside = inside.get(..LONGEST_TAG).unwrap_or(inside);
        let end = inside
            .iter()
            .position(|byte| matches!(byte, b'<' | b'>' | b'\n'));
        let Some(length) = end.filter(|end| inside.get(*end) == Some(&b'>')) else {
            continue;
        };
        let mut parts = inside.get(..length)?.splitn(3, |byte| *byte == b':');
        let name = parts.next()?.trim_ascii();
        let (stated, kind) = (parts.next(), parts.next());
        let ends = name.eq_ignore_ascii_case(b"EOR") || name.eq_ignore_ascii_case(b"EOH");
        let sized = stated.is_some_and(is_length);
        if is_name(name) && (sized || ends) {
            return Some(AdiTag {
                start,
                end: at + length + 1,
                name,
                length: stated.filter(|_| !ends),
                kind,
            });
        }
    }
}

/// A number, or a failed try at one; not the rest of an address or of a sentence.
fn is_length(text: &[u8]) -> bool {
    let text = text.trim_ascii();
    let text = text.strip_prefix(b"-").unwrap_or(text);
    (1..=24).contains(&text.len()) && text.iter().all(u8::is_ascii_alphanumeric)
}

/// ADIF 3.1.6, "User-defined Fields": no comma, colon, angle or curly bracket.
pub(super) fn is_name(name: &[u8]) -> bool {
    !name.is_empty()
        && name
            .iter()
            .all(|byte| matches!(byte, b' '..=b'~') && !b",:<>{}".contains(byte))
}
