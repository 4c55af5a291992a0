//! Where a value ends: programs count bytes, characters, or wrong.

use super::tag;

/// Most characters that are counted one by one, where a length is not in bytes.
const MOST_CHARACTERS: usize = 4096;

/// How a file counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Counts {
    Bytes,
    Characters,
}

/// Which values of a file can only have been counted one way.
#[derive(Debug, Default)]
pub(super) struct Evidence {
    bytes: usize,
    characters: usize,
}

impl Evidence {
    /// How the file counts, as far as it tells.
    pub(super) fn counts(&self) -> Counts {
        if self.characters > self.bytes {
            Counts::Characters
        } else {
            Counts::Bytes
        }
    }
}

/// The byte after a value, and whether its stated length led there. A value does
/// not run over the end of its record, unless text goes on behind that word.
pub(super) fn end(
    bytes: &[u8],
    start: usize,
    stated: Option<usize>,
    counts: Counts,
    evidence: &mut Evidence,
) -> (usize, bool) {
    let counted = stated.and_then(|stated| {
        let in_bytes = start.checked_add(stated).filter(|end| *end <= bytes.len());
        let value = bytes
            .get(start..in_bytes.unwrap_or(bytes.len()))
            .unwrap_or_default();
        // Of ASCII alone both lengths are the same.
        let in_characters = if value.is_ascii() {
            in_bytes
        } else {
            characters(bytes, start, stated)
        };
        let fitting =
            |end: Option<usize>, at_once| end.filter(|end| fits(bytes, start, *end, at_once));
        // First what a tag follows at once; behind a value there may also be text.
        let strict = (fitting(in_bytes, true), fitting(in_characters, true));
        match strict {
            (Some(_), None) => evidence.bytes += 1,
            (None, Some(_)) => evidence.characters += 1,
            _ => {}
        }
        let chosen = |(bytes, characters): (Option<usize>, Option<usize>)| match counts {
            Counts::Bytes => bytes.or(characters),
            Counts::Characters => characters.or(bytes),
        };
        chosen(strict).or_else(|| chosen((fitting(in_bytes, false), fitting(in_characters, false))))
    });
    match counted {
        Some(end) => (end, true),
        None => (
            tag::next(bytes, start).map_or(bytes.len(), |tag| tag.start),
            false,
        ),
    }
}

/// The end of so many characters of UTF-8.
fn characters(bytes: &[u8], start: usize, stated: usize) -> Option<usize> {
    if stated > MOST_CHARACTERS {
        return None;
    }
    let mut left = stated;
    for (index, byte) in bytes.get(start..)?.iter().enumerate() {
        // A byte that continues a character does not count.
        if byte & 0xC0 != 0x80 {
            if left == 0 {
                return Some(start + index);
            }
            left -= 1;
        }
    }
    (left == 0).then_some(bytes.len())
}

fn fits(bytes: &[u8], start: usize, end: usize, at_once: bool) -> bool {
    let rest = bytes.get(end..).unwrap_or_default();
    let follows = if at_once {
        rest.trim_ascii_start()
            .first()
            .is_none_or(|byte| *byte == b'<')
    } else {
        rest.first()
            .is_none_or(|byte| byte.is_ascii_whitespace() || *byte == b'<')
    };
    follows && !runs_over(bytes.get(start..end).unwrap_or_default())
}

/// Whether a record ends inside: `<EOR>` with nothing, or a tag, behind it.
fn runs_over(value: &[u8]) -> bool {
    let mut at = 0;
    while let Some(found) = value
        .get(at..)
        .unwrap_or_default()
        .windows(5)
        .position(|five| five.eq_ignore_ascii_case(b"<EOR>"))
    {
        at += found + 5;
        let behind = value.get(at..).unwrap_or_default().trim_ascii_start();
        if behind.first().is_none_or(|byte| *byte == b'<') {
            return true;
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(bytes: &[u8], stated: usize, value: &[u8], exact: bool) {
        let mut evidence = Evidence::default();
        let (end, found) = end(bytes, 0, Some(stated), Counts::Bytes, &mut evidence);
        assert_eq!((&bytes[..end], found), (value, exact));
    }

    #[test]
    fn what_fits_both_ways_is_read_as_the_file_counts() {
        let text = "éé <CALL:3>s <EOR>";
        for (counts, expected) in [(Counts::Bytes, "éé"), (Counts::Characters, "éé <CALL:3>s")]
        {
            let mut evidence = Evidence::default();
            let stated = if expected == "éé" { 4 } else { 12 };
            let (found, _) = end(text.as_bytes(), 0, Some(stated), counts, &mut evidence);
            assert_eq!(&text[..found], expected);
        }
        let mut evidence = Evidence::default();
        assert_eq!(evidence.counts(), Counts::Bytes);
        end(
            "José <EOR>".as_bytes(),
            0,
            Some(4),
            Counts::Bytes,
            &mut evidence,
        );
        assert_eq!(evidence.counts(), Counts::Characters);
    }

    #[test]
    fn lengths_in_bytes_in_characters_and_wrong() {
        check(b"W7QTM <EOR>", 5, b"W7QTM", true);
        check("José <EOR>".as_bytes(), 5, "José".as_bytes(), true);
        check("José <EOR>".as_bytes(), 4, "José".as_bytes(), true);
        check("José B <EOR>".as_bytes(), 6, "José B".as_bytes(), true);
        check(b"a <b> <c> <EOR>", 9, b"a <b> <c>", true);
        check(b"the <eor> word<EOR>", 14, b"the <eor> word", true);
        check(b"W7QTM note <EOR>", 5, b"W7QTM", true);
        check(b"W7QTM <EOR>\n<CALL:5>K1QRM", 11, b"W7QTM ", false);
        check(b"W7QTM <EOR>", 2, b"W7QTM ", false);
        check(b"W7QTM <EOR>", usize::MAX, b"W7QTM ", false);
        check(b"", 0, b"", true);
    }
}
