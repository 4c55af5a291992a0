//! Pairs of figures that may be a report, as people say them.

use crate::spoken_values::text::letters::is_letter;
use crate::spoken_values::text::phrase::{SpokenPhrase, has, symbol};

/// Figures of one number follow one another within this time, in seconds.
const FIGURES_TOGETHER_S: f64 = 0.8;
/// Words between the two figures: 'five by nine', 'five and nine'.
const JOINING: &str = "and by x";
/// What the figures before or after count or name when it is next to them: no signal.
const COUNTED: &str = "\
    year years mile miles degree degrees watt watts o'clock feet foot percent dollar \
    dollars cents minute minutes hour hours day days week weeks month months kilometer \
    kilometers meter meters inch inches hertz kilohertz megahertz pound pounds ton tons \
    people stations countries states counties contacts entities volts amps knots gallons \
    miler acres hundred thousand million point horsepower something times elements ish \
    or per";
/// More words that go on after a figure as a number does, or make a range of it.
const GOING_ON: &str = "oh zero eighths th to half o";

/// Two figures: readability 2 to 5 and strength 1 to 9.
pub(super) struct FigurePair {
    /// Such as "57".
    pub(super) text: String,
    /// Where they begin.
    pub(super) first: usize,
    /// The place after them, and after the same said again.
    pub(super) end: usize,
    /// That both were said, 0 to 1.
    pub(super) probability: f64,
}

impl FigurePair {
    /// The pair that begins at a place and is no part of a longer number or of a quantity.
    pub(super) fn at(phrase: &SpokenPhrase<'_>, first: usize) -> Option<Self> {
        let mut pair = Self::once(phrase, first)?;
        let ends_farewell = first
            .checked_sub(2)
            .is_some_and(|at| is_farewell(phrase, at));
        if is_number(phrase.before(first, 1)) && is_joined(phrase, first) && !ends_farewell {
            return None;
        }
        if let Some(again) = Self::once(phrase, pair.end).filter(|again| again.text == pair.text) {
            pair.end = again.end;
            // Said well once is enough.
            pair.probability = pair.probability.max(again.probability);
        }
        let next = phrase.word(pair.end);
        let over_nine = has("over db plus", phrase.word(pair.end + 1));
        let sign = is_number(next) && is_spelling(phrase.word(pair.end + 1));
        let apart = over_nine || sign || !is_joined(phrase, pair.end);
        let longer = is_number(next) && !apart && !is_farewell(phrase, pair.end);
        let range = next == "to" && is_number(phrase.word(pair.end + 1));
        let plain = next == "to" && !range;
        let counts = has(COUNTED, next) || has(GOING_ON, next) && !plain;
        (!longer && !range && !counts).then_some(pair)
    }

    fn once(phrase: &SpokenPhrase<'_>, first: usize) -> Option<Self> {
        let words: Vec<usize> = match tens(phrase.word(first)) {
            // 'Fifty seven'
            Some(_) => vec![first, first + 1],
            None if phrase.word(first).len() == 2 => vec![first],
            None if has(JOINING, phrase.word(first + 1)) => {
                let article = usize::from(phrase.word(first + 2) == "a");
                vec![first, first + 2 + article]
            }
            None => vec![first, first + 1],
        };
        let figure = |(place, at): (usize, &usize)| match tens(phrase.word(*at)) {
            Some(figure) if place == 0 => figure,
            _ => symbol(phrase.word(*at)),
        };
        let text: String = match words[..] {
            [at] => phrase.word(at).to_owned(),
            _ => words.iter().enumerate().map(figure).collect(),
        };
        let report = matches!(text.as_bytes(), [b'2'..=b'5', b'1'..=b'9']);
        report.then(|| Self {
            text,
            first,
            end: words.last().map_or(first, |last| last + 1),
            probability: words.iter().map(|at| phrase.probability(*at)).product(),
        })
    }
}

/// The first figure of a number of tens. Nobody reports in twenties.
fn tens(word: &str) -> Option<&'static str> {
    match word {
        "thirty" => Some("3"),
        "forty" => Some("4"),
        "fifty" => Some("5"),
        _ => None,
    }
}

/// Whether it is a figure or a number.
pub(super) fn is_number(word: &str) -> bool {
    let symbol = symbol(word);
    let figures = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    figures(symbol) || figures(word)
}

/// Whether a figure is said in one go with the one before it.
fn is_joined(phrase: &SpokenPhrase<'_>, at: usize) -> bool {
    let pause_s = phrase.pause_before_s(at);
    pause_s.is_some_and(|pause_s| pause_s < FIGURES_TOGETHER_S)
}

/// A letter as in a call sign, and no word of a sentence.
fn is_spelling(word: &str) -> bool {
    is_letter(word) && !matches!(word, "a" | "i")
}

/// 'Seven three', which ends what was said before.
fn is_farewell(phrase: &SpokenPhrase<'_>, at: usize) -> bool {
    let seven = matches!(phrase.word(at), "seven" | "seventy");
    seven && phrase.word(at + 1) == "three" && !is_number(phrase.word(at + 2))
        || phrase.word(at) == "73"
}
