//! Weighs what call signs look like: how much likelier a text is as a sign than as letters
//! and figures without meaning.
//!
//! ITU Radio Regulations Article 19 (forms of call signs) and Appendix 42
//! (allocation: no series begins with Q, and none with 0 or 1). The weights
//! themselves are our own.

/// The weight of each letter or figure that belongs to no sign.
pub(crate) const STRAY_SYMBOL_WEIGHT: f64 = 0.06;

/// Letters that are a series of their own.
const SINGLE_LETTER_SERIES: &[u8] = b"BFGIKMNRW";
/// No series begins with these.
const UNALLOCATED_FIRST: &[u8] = b"Q01";

/// The weight of `text` (capital letters and figures) as one call sign; 0 if it has no such form.
pub(crate) fn weight(text: &[u8]) -> f64 {
    prefixes(text)
        .map(|(prefix, at)| prefix * suffix(&text[at..]) * allocation(text))
        .fold(0.0, f64::max)
}

/// Ways to read the beginning: (weight, where the separating figure's successor stands).
fn prefixes(text: &[u8]) -> impl Iterator<Item = (f64, usize)> + '_ {
    let is = |i: usize, f: fn(&u8) -> bool| text.get(i).is_some_and(f);
    let letter = u8::is_ascii_alphabetic;
    let figure = u8::is_ascii_digit;
    let ways = [
        // one letter: only some have series of their own
        (is(0, letter) && is(1, figure)).then(|| {
            (
                if is(0, |c| SINGLE_LETTER_SERIES.contains(c)) {
                    0.7
                } else {
                    0.2
                },
                2,
            )
        }),
        (is(0, letter) && is(1, letter) && is(2, figure)).then_some((1.0, 3)),
        (is(0, letter) && is(1, figure) && is(2, figure)).then_some((0.12, 3)),
        (is(0, figure) && is(1, letter) && is(2, figure)).then_some((0.3, 3)),
    ];
    ways.into_iter().flatten()
}

fn suffix(rest: &[u8]) -> f64 {
    if !rest.iter().all(u8::is_ascii_alphabetic) {
        return 0.0;
    }
    match rest.len() {
        1 => 0.3,
        2 => 0.8,
        3 => 1.0,
        4 => 0.15,
        _ => 0.0,
    }
}

fn allocation(text: &[u8]) -> f64 {
    if text.first().is_some_and(|c| UNALLOCATED_FIRST.contains(c)) {
        0.05
    } else {
        1.0
    }
}

/// Longest sign that has a form, in symbols.
const LONGEST_SIGN_SYMBOLS: usize = 7;

/// The beginning of a call sign, or a whole one: one that some form can continue.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
pub(crate) struct PartialSign {
    text: [u8; LONGEST_SIGN_SYMBOLS],
    size: u8,
}

impl PartialSign {
    /// Whether it has no symbol yet.
    pub(crate) fn is_empty(&self) -> bool {
        self.size == 0
    }

    /// With one symbol more; nothing if no form of signs begins so.
    pub(crate) fn with(&self, symbol: char) -> Option<Self> {
        let mut next = *self;
        *next.text.get_mut(usize::from(self.size))? = symbol as u8;
        next.size += 1;
        next.can_become_a_sign().then_some(next)
    }

    /// Its weight as a complete sign; 0 if it is not complete.
    pub(crate) fn weight(&self) -> f64 {
        weight(self.symbols())
    }

    /// The one that stands for all beginnings that continue and weigh as this one does.
    pub(crate) fn form(&self) -> Self {
        let mut form = *self;
        for (k, c) in form
            .text
            .iter_mut()
            .take(usize::from(self.size))
            .enumerate()
        {
            *c = match (k, c.is_ascii_digit()) {
                (0, false) if SINGLE_LETTER_SERIES.contains(c) => b'B',
                (0, _) if UNALLOCATED_FIRST.contains(c) => *c,
                (_, true) => b'9',
                (_, false) => b'A',
            };
        }
        form
    }

    fn symbols(&self) -> &[u8] {
        &self.text[..usize::from(self.size)]
    }

    fn can_become_a_sign(&self) -> bool {
        let fits = |(symbol, form): (&u8, &u8)| match form {
            b'9' => symbol.is_ascii_digit(),
            _ => symbol.is_ascii_alphabetic(),
        };
        SIGN_FORMS.iter().any(|form| {
            self.symbols().len() <= form.len() && self.symbols().iter().zip(*form).all(fits)
        })
    }
}

impl std::fmt::Display for PartialSign {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&String::from_utf8_lossy(self.symbols()))
    }
}

/// Prefix, figure and the longest suffix: A for letters, 9 for figures.
const SIGN_FORMS: [&[u8]; 4] = [b"A9AAAA", b"AA9AAAA", b"A99AAAA", b"9A9AAAA"];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn usual_forms_weigh_more_than_rare_ones_and_others_nothing() {
        assert!(weight(b"KB0QSE") > weight(b"K10QSE"));
        assert!(weight(b"W7QTM") > weight(b"D7QTM"));
        assert!(weight(b"QB0QSE") < 0.1);
        assert!(weight(b"KBQSE") == 0.0 && weight(b"7") == 0.0);
    }

    #[track_caller]
    fn check(text: &str, begins: bool) {
        let begun = text
            .chars()
            .try_fold(PartialSign::default(), |begun, c| begun.with(c));
        assert_eq!(begun.is_some(), begins, "{text}");
        let whole = begun.map_or(0.0, |b| b.weight());
        assert_eq!(whole, weight(text.as_bytes()), "{text}");
    }

    #[test]
    fn what_has_begun_is_what_some_form_continues() {
        for text in ["K", "KB", "KB0", "KB0QSE", "2E0QRA", "K10Q", "B7QTMA"] {
            check(text, true);
        }
        for text in ["KBC", "59", "KB0Q1", "KB0QSEQSE", "7K7K7"] {
            check(text, false);
        }
    }
}
