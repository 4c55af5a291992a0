//! What call signs look like, as weights: how much more a text is worth as a sign
//! than as letters and figures without meaning.
//!
//! ITU Radio Regulations Article 19 (forms of call signs) and Appendix 42
//! (allocation: no series begins with Q, and none with 0 or 1). The weights
//! themselves are our own.

/// What each letter or figure costs that belongs to no sign.
pub(crate) const STRAY: f64 = 0.25;

/// What it is worth that a sign stands twice in a row: that is how they are given.
const AGAIN: f64 = 6.0;

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
                if is(0, |c| b"BFGIKMNRW".contains(c)) {
                    0.7
                } else {
                    0.08
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
        4 => 0.1,
        _ => 0.0,
    }
}

fn allocation(text: &[u8]) -> f64 {
    if text.first().is_some_and(|c| b"Q01".contains(c)) {
        0.05
    } else {
        1.0
    }
}

/// The best way to cut `text` into signs and strays: its weight, and the signs' spans.
pub(crate) fn cut(text: &[u8]) -> (f64, Vec<std::ops::Range<usize>>) {
    let mut best: Vec<(f64, Option<usize>)> = vec![(1.0, None)];
    for end in 1..=text.len() {
        let mut choice = (best[end - 1].0 * STRAY, None);
        for start in end.saturating_sub(7)..end.saturating_sub(2) {
            let size = end - start;
            let again = start >= size
                && best[start].1 == Some(start - size)
                && text[start - size..start] == text[start..end];
            let habit = if again { AGAIN } else { 1.0 };
            let whole = best[start].0 * weight(&text[start..end]) * habit;
            if whole > choice.0 {
                choice = (whole, Some(start));
            }
        }
        best.push(choice);
    }
    let (mut spans, mut end) = (Vec::new(), text.len());
    while end > 0 {
        match best[end].1 {
            Some(start) => {
                spans.push(start..end);
                end = start;
            }
            None => end -= 1,
        }
    }
    spans.reverse();
    (best[text.len()].0, spans)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, wanted: &[&str]) {
        let (_, spans) = cut(text.as_bytes());
        let got: Vec<&str> = spans.into_iter().map(|s| &text[s]).collect();
        assert_eq!(got, wanted, "{text}");
    }

    #[test]
    fn signs_are_cut_out_of_what_was_said() {
        check("KB0QSE", &["KB0QSE"]);
        check("W7QTMKB0QSE", &["W7QTM", "KB0QSE"]);
        check("W7QTMW7QTM", &["W7QTM", "W7QTM"]);
        check("KB0QSE59", &["KB0QSE"]);
        check("2E0QRA", &["2E0QRA"]);
        check("59", &[]);
        check("RUTH", &[]);
        check("", &[]);
    }

    #[test]
    fn usual_forms_weigh_more_than_rare_ones_and_others_nothing() {
        assert!(weight(b"KB0QSE") > weight(b"K10QSE"));
        assert!(weight(b"W7QTM") > weight(b"D7QTM"));
        assert!(weight(b"QB0QSE") < 0.1);
        assert!(weight(b"KBQSE") == 0.0 && weight(b"7") == 0.0);
    }
}
