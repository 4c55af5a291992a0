//! Where a value ends: programs count bytes, characters, or wrong.
//!
//! By the specification (ADIF 3.1.6, "ADI File Format": a field is its tag and then as
//! many characters of data as the tag says) a value may hold the text `<EOR>`. Programs
//! also write lengths that are too long: bytes of UTF-8 before text in Latin-1, or units
//! of UTF-16. So where a length leads past `<EOR>` and past what looks like another
//! record, the length may be right and the record a stranger's remark, or the length is
//! wrong and the record a contact. Nothing decides which, so the record is put aside with
//! a complaint. A length that leads exactly to the next tag is trusted if the `<EOR>`
//! inside is followed by other text, or the value by the record's own `<EOR>`.

use super::tag;

/// Most characters that are counted one by one, where a length is not in bytes.
const MOST_CHARACTERS: usize = 4096;

/// A longer length that leads past the end of the file is a wrong number and not a field
/// that was cut off (no field of ours or of the specification comes near it).
const MOST_PLAUSIBLE: usize = 65_536;

/// What a file counts its lengths in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum LengthUnit {
    Bytes,
    Characters,
    /// Not decided; bytes are likelier.
    Unknown,
}

/// How many values of a file can only have been counted one way.
#[derive(Debug, Default)]
pub(super) struct LengthEvidence {
    bytes: usize,
    characters: usize,
}

impl LengthEvidence {
    /// What the file counts in, if its values decide it.
    pub(super) fn counts(&self) -> LengthUnit {
        if self.characters > self.bytes {
            LengthUnit::Characters
        } else if self.bytes > 0 {
            LengthUnit::Bytes
        } else {
            LengthUnit::Unknown
        }
    }
}

/// Where a value ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ValueEnd {
    /// Its length leads there.
    Exact(usize),
    /// Its length is wrong; the next tag is there.
    Wrong(usize),
    /// Its length runs past the end of a record. Reading continues there, and what comes
    /// before the next end of a record belongs to no contact.
    Over(usize),
}

/// Finds the ends of a file's values, in rising order.
pub(super) struct ValueEndFinder<'a> {
    bytes: &'a [u8],
    counts: LengthUnit,
    pub(super) evidence: LengthEvidence,
    /// The first end of a record at or behind the place asked for last, as start and
    /// end of its tag, so that the file is searched once.
    record: Option<(usize, usize)>,
    searched: usize,
}

impl<'a> ValueEndFinder<'a> {
    pub(super) fn new(bytes: &'a [u8], counts: LengthUnit) -> Self {
        Self {
            bytes,
            counts,
            evidence: LengthEvidence::default(),
            record: None,
            searched: 0,
        }
    }

    /// The end of the value that begins at `start`.
    pub(super) fn end_of(&mut self, start: usize, stated: Option<usize>) -> ValueEnd {
        let next = |from| tag::next(self.bytes, from).map_or(self.bytes.len(), |tag| tag.start);
        let Some(stated) = stated else {
            return ValueEnd::Wrong(next(start));
        };
        let in_bytes = start
            .checked_add(stated)
            .filter(|end| *end <= self.bytes.len());
        let ascii = |end| {
            let value: &[u8] = self.bytes.get(start..end).unwrap_or_default();
            value.is_ascii()
        };
        // Of ASCII alone both lengths are the same.
        let in_characters = match in_bytes {
            Some(end) if stated > MOST_CHARACTERS || ascii(end) => in_bytes,
            _ => characters(self.bytes, start, stated),
        };
        // First what a tag follows at once; behind a value there may also be text.
        for at_once in [true, false] {
            let fitting = |end: Option<usize>| end.filter(|end| fits(self.bytes, *end, at_once));
            let both = (fitting(in_bytes), fitting(in_characters));
            match both {
                (None, None) => continue,
                (Some(_), None) if at_once => self.evidence.bytes += 1,
                (None, Some(_)) if at_once => self.evidence.characters += 1,
                _ => {}
            }
            let (first, second) = match self.counts {
                LengthUnit::Characters => (both.1, both.0),
                LengthUnit::Bytes | LengthUnit::Unknown => both,
            };
            // Where it is not decided what the file counts in, either may be meant.
            let doubtful = second.filter(|_| self.counts == LengthUnit::Unknown);
            for end in [first.or(second), doubtful].into_iter().flatten() {
                if self.holds_record(start, end) {
                    return ValueEnd::Over(end);
                }
            }
            if let Some(end) = first.or(second) {
                return ValueEnd::Exact(end);
            }
        }
        match self.record_end(start) {
            Some((own, _)) if in_bytes.is_none() && stated > MOST_PLAUSIBLE => ValueEnd::Over(own),
            Some((_, behind)) if behind <= start.saturating_add(stated) => {
                ValueEnd::Over(self.record_behind(start.saturating_add(stated)))
            }
            _ => ValueEnd::Wrong(next(start)),
        }
    }

    /// Whether a record ends inside a value, and another or nothing stands behind it.
    fn holds_record(&mut self, start: usize, end: usize) -> bool {
        let value = self.bytes.get(start..end).unwrap_or_default();
        if !value.contains(&b'<') {
            return false;
        }
        let mut found = self.record_end(start);
        while let Some((_, behind)) = found.filter(|(_, behind)| *behind <= end) {
            let rest = self.bytes.get(behind..end).unwrap_or_default();
            match rest.trim_ascii_start().first() {
                Some(b'<') => return true,
                Some(_) => {}
                // The end of the value: its own record may end there.
                None => return !tag::next(self.bytes, end).is_some_and(|tag| tag.is(b"EOR")),
            }
            found = record_end(self.bytes, behind);
        }
        false
    }

    /// Start and end of the first `<EOR>` from there on.
    fn record_end(&mut self, from: usize) -> Option<(usize, usize)> {
        let known = self.record.is_none_or(|(start, _)| start >= from);
        if self.searched == 0 || from < self.searched || !known {
            self.record = record_end(self.bytes, from);
        }
        self.searched = from.max(1);
        self.record
    }

    /// Where the first `<EOR>` begins that ends behind a place; the end of the file
    /// where there is none.
    fn record_behind(&self, place: usize) -> usize {
        // It may begin before that place; a tag is short.
        let mut from = place.saturating_sub(tag::LONGEST_TAG + 2);
        while let Some((start, end)) = record_end(self.bytes, from) {
            if end > place {
                return start;
            }
            from = end;
        }
        self.bytes.len()
    }
}

fn record_end(bytes: &[u8], from: usize) -> Option<(usize, usize)> {
    let mut at = from;
    while let Some(tag) = tag::next(bytes, at) {
        if tag.is(b"EOR") {
            return Some((tag.start, tag.end));
        }
        at = tag.end;
    }
    None
}

/// Where `stated` characters of UTF-8 end.
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

/// Whether a value may end there.
fn fits(bytes: &[u8], end: usize, at_once: bool) -> bool {
    let rest = bytes.get(end..).unwrap_or_default();
    if at_once {
        rest.trim_ascii_start()
            .first()
            .is_none_or(|byte| *byte == b'<')
    } else {
        rest.first()
            .is_none_or(|byte| byte.is_ascii_whitespace() || *byte == b'<')
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(bytes: &[u8], stated: usize, expected: ValueEnd) {
        let mut ends = ValueEndFinder::new(bytes, LengthUnit::Unknown);
        assert_eq!(ends.end_of(0, Some(stated)), expected);
    }

    #[test]
    fn what_fits_both_ways_is_read_as_the_file_counts() {
        let text = "éé <CALL:3>s <EOR>";
        for (counts, stated, expected) in [
            (LengthUnit::Bytes, 4, "éé"),
            (LengthUnit::Unknown, 4, "éé"),
            (LengthUnit::Characters, 12, "éé <CALL:3>s"),
        ] {
            let mut ends = ValueEndFinder::new(text.as_bytes(), counts);
            assert_eq!(
                ends.end_of(0, Some(stated)),
                ValueEnd::Exact(expected.len())
            );
        }
        let mut ends = ValueEndFinder::new("José <EOR>".as_bytes(), LengthUnit::Unknown);
        assert_eq!(ends.evidence.counts(), LengthUnit::Unknown);
        ends.end_of(0, Some(4));
        assert_eq!(ends.evidence.counts(), LengthUnit::Characters);
    }

    #[test]
    fn lengths_in_bytes_in_characters_and_wrong() {
        check(b"W7QTM <EOR>", 5, ValueEnd::Exact(5));
        check("José <EOR>".as_bytes(), 5, ValueEnd::Exact(5));
        check("José <EOR>".as_bytes(), 4, ValueEnd::Exact(5));
        check("José B <EOR>".as_bytes(), 6, ValueEnd::Exact(7));
        check(b"a <b> <c> <EOR>", 9, ValueEnd::Exact(9));
        check(b"the <eor> word<EOR>", 14, ValueEnd::Exact(14));
        check(b"hi<eor> <EOR>", 7, ValueEnd::Exact(7));
        check(b"W7QTM note <EOR>", 5, ValueEnd::Exact(5));
        check(b"W7QTM <EOR>", 2, ValueEnd::Wrong(6));
        check(b"W7QTM <EOR>", 9, ValueEnd::Wrong(6));
        check(b"", 0, ValueEnd::Exact(0));
    }

    #[test]
    fn lengths_that_run_over_the_end_of_a_record() {
        check(b"W7QTM <EOR>\n<CALL:5>K1QRM", 11, ValueEnd::Over(11));
        check(b"W7QTM <EOR>\n<CALL:5>K1QRM<EOR>", 16, ValueEnd::Over(25));
        check(b"W7QTM <EOR> <CALL:5>K1QRM", 40, ValueEnd::Over(25));
        check(b"W7QTM <EOR>", usize::MAX, ValueEnd::Over(6));
        // In bytes it ends before a tag in the text, in characters behind it.
        check("ééééé<EOR> <EOR>".as_bytes(), 10, ValueEnd::Exact(10));
        check("éééééé<EOR> <A:1>b<EOR>".as_bytes(), 12, ValueEnd::Over(18));
    }
}
