//! Signs as they are put together, symbol by symbol or with words that write several.

use crate::fold::{class_of, composed, composed_classes, symbol_of};
use crate::sign_form::SignForm;

/// Bits of one symbol's class.
const SYMBOL_BITS: u32 = 6;
/// What a word of several letters is worth inside a sign, where it is far more often said for
/// what it means.
const COMPOSED_LETTERS_WEIGHT: f64 = 0.05;
/// At most so many ways to say a sign are looked for.
const MOST_SPELLINGS: usize = 8;

/// The beginning of a call sign, or a whole one: one that some form can continue.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct PartialSign {
    /// Classes of its symbols, the last in the lowest bits.
    symbols: u64,
    form: SignForm,
}

impl std::hash::Hash for PartialSign {
    /// The form follows from the symbols, but for its tens.
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.symbols.hash(state);
    }
}

impl PartialSign {
    /// Whether it has no symbol yet.
    pub(crate) fn is_empty(&self) -> bool {
        self.symbols == 0
    }

    /// With a class more, and the weight of that; nothing if no form of signs goes on so.
    /// A word of several letters or figures begins no sign.
    pub(crate) fn with(&self, class: usize) -> Option<(Self, f64)> {
        if let Some(symbol) = symbol_of(class) {
            if self.form.ends_in_tens() && ('1'..='9').contains(&symbol) {
                let symbols = (self.symbols >> SYMBOL_BITS) << SYMBOL_BITS | class as u64;
                let form = self.form.with_unit();
                return Some((Self { symbols, form }, 1.0));
            }
            return Some((self.with_symbol(symbol)?, 1.0));
        }
        let text = composed(class).filter(|_| !self.is_empty())?;
        let mut next = *self;
        for symbol in text.chars() {
            next = next.with_symbol(symbol)?;
        }
        match text.as_bytes() {
            [b'0', ..] if !self.form.is_at_figures() => None,
            [b'2'..=b'9', b'0'] => {
                next.form = next.form.with_tens();
                Some((next, 1.0))
            }
            _ => Some((next, class_weight(class))),
        }
    }

    fn with_symbol(self, symbol: char) -> Option<Self> {
        // No form has more than ten symbols, so they fit.
        Some(Self {
            form: self.form.with(symbol as u8)?,
            symbols: self.symbols << SYMBOL_BITS | class_of(symbol) as u64,
        })
    }

    /// What tells it from others: its symbols, and whether it ends in a number of tens.
    pub(crate) fn key(&self) -> (u64, bool) {
        (self.symbols, self.form.ends_in_tens())
    }

    /// What is known of it but for its text.
    pub(crate) fn form(&self) -> SignForm {
        self.form
    }

    /// One of that form, for walking through all forms.
    pub(crate) fn of_form(form: SignForm) -> Self {
        // A single symbol stands for all of them: only the form is looked at.
        let symbols = u64::from(!form.is_empty());
        Self { symbols, form }
    }

    /// The same without the end of its suffix, if that is only said again ('Quebec Tango
    /// Mike, Tango Mike'): far more often than two letters or three stand in a suffix twice.
    pub(crate) fn said_once(&self) -> Self {
        let last = |count: u32, at: u32| {
            (self.symbols >> (SYMBOL_BITS * at)) % (1 << (SYMBOL_BITS * count))
        };
        let mut counts = 2..=self.form.letters() / 2;
        let Some(count) = counts.find(|count| last(*count, 0) == last(*count, *count)) else {
            return *self;
        };
        let kept = self.text().skip(count as usize).collect::<Vec<char>>();
        let mut symbols = kept.into_iter().rev();
        let once = symbols.try_fold(Self::default(), Self::with_symbol);
        once.unwrap_or(*self)
    }

    /// Its symbols from the last to the first.
    fn text(self) -> impl Iterator<Item = char> {
        let classes = std::iter::successors(Some(self.symbols), |left| Some(left >> SYMBOL_BITS));
        let classes = classes.take_while(|left| *left > 0);
        classes.filter_map(|left| symbol_of((left % (1 << SYMBOL_BITS)) as usize))
    }
}

impl std::fmt::Display for PartialSign {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let text: Vec<char> = self.text().collect();
        f.write_str(&text.iter().rev().collect::<String>())
    }
}

/// The weight of a class within a sign.
pub(crate) fn class_weight(class: usize) -> f64 {
    let letters =
        composed(class).is_some_and(|text| !text.starts_with(|c: char| c.is_ascii_digit()));
    if letters {
        COMPOSED_LETTERS_WEIGHT
    } else {
        1.0
    }
}

/// A way to say a sign.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct SignSpelling {
    /// The classes of its words.
    pub(crate) labels: Vec<usize>,
    /// What the sign is worth when it is said so; 0 for what has no form.
    pub(crate) weight: f64,
}

/// The ways to say `sign` (capital letters and figures): letter by letter first, then those
/// with words for several. None for what has other characters.
pub(crate) fn spellings(sign: &str) -> Vec<SignSpelling> {
    let symbol = |c: char| Some(class_of(c)).filter(|class| symbol_of(*class).is_some());
    let symbols: Option<Vec<usize>> = sign.chars().map(symbol).collect();
    let mut out: Vec<Vec<usize>> = symbols.into_iter().collect();
    let mut done = 0;
    while let Some(labels) = out.get(done).cloned() {
        done += 1;
        for at in 1..labels.len() {
            for class in composed_classes() {
                let Some(size) = replaced(class, &labels[at..]) else {
                    continue;
                };
                let shorter = [&labels[..at], &[class], &labels[at + size..]].concat();
                if out.len() < MOST_SPELLINGS && !out.contains(&shorter) {
                    out.push(shorter);
                }
            }
        }
    }
    let spelling = |labels: Vec<usize>| SignSpelling {
        weight: weight(&labels),
        labels,
    };
    let all = out.into_iter().map(spelling).enumerate();
    let possible = all.filter(|(k, spelling)| *k == 0 || spelling.weight > 0.0);
    possible.map(|(_, spelling)| spelling).collect()
}

/// How many of the first `labels` a composed word stands for; nothing if they are others.
fn replaced(class: usize, labels: &[usize]) -> Option<usize> {
    let text: Vec<usize> = composed(class)?.chars().map(class_of).collect();
    if labels.starts_with(&text) {
        return Some(text.len());
    }
    // 'twenty four': the unit is said after the tens.
    let tens = matches!(text[..], [_, zero] if zero == class_of('0')) && text[0] != class_of('1');
    let unit = labels.get(1).and_then(|class| symbol_of(*class));
    let fits = tens && labels[0] == text[0] && unit.is_some_and(|unit| ('1'..='9').contains(&unit));
    fits.then_some(1)
}

/// What the sign that these classes write is worth; 0 if they write none.
pub(crate) fn weight(labels: &[usize]) -> f64 {
    let begun = |(begun, weight): (PartialSign, f64), class: &usize| {
        let (next, step) = begun.with(*class)?;
        Some((next, weight * step))
    };
    let whole = labels.iter().try_fold((PartialSign::default(), 1.0), begun);
    whole.map_or(0.0, |(sign, weight)| weight * sign.form().sign_weight())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels(text: &str) -> Vec<usize> {
        text.chars().map(class_of).collect()
    }

    fn worth(text: &str) -> f64 {
        weight(&labels(text))
    }

    #[test]
    fn usual_forms_weigh_more_than_rare_ones_and_others_nothing() {
        let falling = [
            "KB0QSE",
            "W7QTM",
            "W7QTMA",
            "TM24QRS",
            "DL0QRAVE",
            "DL0QRAVEL",
        ];
        assert!(
            falling
                .windows(2)
                .all(|pair| worth(pair[0]) > worth(pair[1]))
        );
        assert!(worth("KB0QSE") > worth("K10QSE"));
        assert!(worth("W7QTM") > worth("D7QTM"));
        assert!(worth("QB0QSE") < 0.1);
        assert!(worth("KBQSE") == 0.0 && worth("7") == 0.0);
    }

    #[track_caller]
    fn check(text: &str, begins: bool) {
        let with = |begun: PartialSign, class: &usize| begun.with(*class).map(|(next, _)| next);
        let begun = labels(text).iter().try_fold(PartialSign::default(), with);
        assert_eq!(begun.is_some(), begins, "{text}");
        let whole = begun.map_or(0.0, |b| b.form().sign_weight());
        assert_eq!(whole, worth(text), "{text}");
        assert!(
            begun.is_none_or(|b| b.to_string() == text && b.form().promise() >= whole),
            "{text}"
        );
    }

    #[test]
    fn what_has_begun_is_what_some_form_continues() {
        for text in [
            "K", "KB", "KB0", "KB0QSE", "2E0QRA", "K10Q", "B7QTMA", "GB100QRA",
        ] {
            check(text, true);
        }
        for text in [
            "R2025QR",
            "OE2026QRAZ",
            "8J1QRABC",
            "II7QRAVEL",
            "A61QR",
            "A6",
            "3D",
        ] {
            check(text, true);
        }
        for text in [
            "KBC",
            "59",
            "KB0Q1",
            "KB0QSEQSE",
            "7K7K7",
            "KB00000",
            "KB0QSEQRAB",
        ] {
            check(text, text == "KB0QSEQSE");
        }
    }

    #[track_caller]
    fn check_spelled(sign: &str, wanted: &[&[&str]]) {
        let class = |word: &&str| {
            let of_word = composed_classes().find(|c| composed(*c) == Some(*word));
            of_word.unwrap_or_else(|| class_of(word.chars().next().unwrap_or(' ')))
        };
        let wanted: Vec<Vec<usize>> = wanted
            .iter()
            .map(|way| way.iter().map(class).collect())
            .collect();
        let got: Vec<Vec<usize>> = spellings(sign).into_iter().map(|way| way.labels).collect();
        assert_eq!(got, wanted, "{sign}");
    }

    #[test]
    fn the_ways_to_say_a_sign() {
        check_spelled("W7QT", &[&["W", "7", "Q", "T"]]);
        check_spelled("W7QRP", &[&["W", "7", "Q", "R", "P"], &["W", "7", "QRP"]]);
        let year = [&["R", "2", "4", "Q"][..], &["R", "20", "4", "Q"]];
        check_spelled("R24Q", &year);
        check_spelled("R10Q", &[&["R", "1", "0", "Q"], &["R", "10", "Q"]]);
        check_spelled("W7 QT", &[]);
        // No form: letter by letter it is known all the same.
        check_spelled("QSL", &[&["Q", "S", "L"]]);
    }

    #[track_caller]
    fn check_once(text: &str, wanted: &str) {
        let with = |begun: PartialSign, class: &usize| begun.with(*class).map(|(next, _)| next);
        let sign = labels(text).iter().try_fold(PartialSign::default(), with);
        assert_eq!(
            sign.map(|s| s.said_once().to_string()).as_deref(),
            Some(wanted)
        );
    }

    #[test]
    fn the_end_of_a_suffix_is_said_again() {
        for text in ["W7QTMQTM", "W7QTMTM", "W7QTM"] {
            check_once(text, "W7QTM");
        }
        check_once("W7QTMT", "W7QTMT");
        check_once("W7QTT", "W7QTT");
        check_once("GB100QRQR", "GB100QR");
    }
}
