//! Words that make a pair of figures a report (common practice).

use super::figures::{FigurePair, is_number};
use crate::spoken_values::text::introduction::is_known;
use crate::spoken_values::text::letters::is_letter;
use crate::spoken_values::text::phrase::{SpokenPhrase, has, is_plain};

/// Who is heard.
const HEARER: &str = "you you're your youre you've you'll";
/// What is reported.
const REPORT_WORDS: &str = "report reports signal signals rst";
/// Whose report it is not, right before such a word.
const OF_OTHERS: &str = "\
    his her their our its whose weather traffic every";
/// Words between a lead and the figures.
const BETWEEN: &str = "\
    a about again all an and antenna are armchair around as at average be beam big \
    booming call car clear comfortable coming copy copying currently dipole down easily \
    easy end fair fine for from fully get getting giving good got great have hearing \
    here hitting home honest honestly house i i'd i'll i'm in into is it it's just like \
    local loud making maybe me mobile my nice now of on only out peaking peaks perfect \
    perfectly pretty probably pushing putting radio reading real really receiving \
    repeater report reports rig right roger running say showing side signal signals \
    sitting so solid sounding still strong that's the this through to today truck up \
    vertical very was we well were will with would you you're your";
/// The lead is at most so many words before the figures.
const MOST_BETWEEN: usize = 9;
/// Words before the figures that make them a number of something.
const NUMBERED: &str = "\
    age aged apartment avenue born box bus channel chapter county exit flight frequency \
    gate highway house interstate lane license marker mile model nineteen number on page \
    question road room route serial simplex since street temp temperature track turned \
    turning twenty unit zone";
/// Words of an earlier time shortly after 'you were five nine'.
const EARLIER: &str = "\
    before earlier yesterday last ago then once when";
/// Words right before the figures that are about those which the other gave.
const CONFIRMED: &str = "the that";

/// Whether the words around a pair of figures make it a report of its speaker.
pub(super) fn is_report(phrase: &SpokenPhrase<'_>, pair: &FigurePair) -> bool {
    if has(NUMBERED, phrase.before(pair.first, 1)) {
        return false;
    }
    is_led(phrase, pair) || is_short(phrase, pair) || is_sent_to(phrase, pair)
}

/// 'You're a solid', 'your signal is', 'report to you is', 'got you at about'.
fn is_led(phrase: &SpokenPhrase<'_>, pair: &FigurePair) -> bool {
    let mut found = false;
    for before in 1..=MOST_BETWEEN.min(pair.first) {
        let (at, word) = (pair.first - before, phrase.before(pair.first, before));
        let reported = has(REPORT_WORDS, word) && is_of_the_other(phrase, at);
        if has(HEARER, word) && !is_answered(phrase, at) || reported {
            found = fits(phrase, pair, at);
            break;
        }
        // 'You're in Denver five seven': a place is any word.
        let place = matches!(phrase.before(at, 1), "in" | "into") && !is_number(word);
        let between = has(BETWEEN, word);
        if !between && (!place || is_unlike_place(word)) {
            break;
        }
    }
    found
}

/// 'Thank you', 'with you': nobody is heard there.
fn is_answered(phrase: &SpokenPhrase<'_>, at: usize) -> bool {
    phrase.word(at) == "you"
        && matches!(phrase.before(at, 1), "thank" | "between" | "like" | "than")
}

/// 'Your signal', 'my report to you', 'the report', but not 'my signal'.
fn is_of_the_other(phrase: &SpokenPhrase<'_>, at: usize) -> bool {
    let whose = phrase.before(at, 1);
    let mine = whose == "my" && phrase.word(at).starts_with("signal");
    !mine && !has(OF_OTHERS, whose) && !whose.ends_with("'s")
}

/// Words for a time or a quantity are no place: 'you're in stage five seven'.
fn is_unlike_place(word: &str) -> bool {
    has(NUMBERED, word)
}

/// What is said around the figures after this lead is about a signal.
fn fits(phrase: &SpokenPhrase<'_>, pair: &FigurePair, lead: usize) -> bool {
    let next = phrase.word(pair.end);
    // 'Your fifty seven Chevy' is no signal.
    let bare = phrase.word(lead) == "your" && lead + 1 == pair.first;
    let owned = bare && !next.is_empty() && !is_plain(next) && !is_number(next) && next != "q";
    let past = (lead..pair.first).any(|at| matches!(phrase.word(at), "were" | "was"))
        && (pair.end..pair.end + 4).any(|at| has(EARLIER, phrase.word(at)));
    !owned && !past
}

/// 'Roger five seven', 'copy five seven', 'roger Tom five seven' right before the figures.
fn is_short(phrase: &SpokenPhrase<'_>, pair: &FigurePair) -> bool {
    let next = phrase.word(pair.end);
    let counted = !next.is_empty() && !is_plain(next) && !is_number(next) && !is_letter(next);
    let word = phrase.before(pair.first, 1);
    let cue = matches!(word, "roger" | "copy") && phrase.before(pair.first, 2) != "i";
    let named = is_known(word) && phrase.before(pair.first, 2) == "roger";
    (cue || named) && !counted
}

/// 'Five nine to you', 'five nine into Denver as well'.
fn is_sent_to(phrase: &SpokenPhrase<'_>, pair: &FigurePair) -> bool {
    let to = matches!(phrase.word(pair.end), "to" | "for") && phrase.word(pair.end + 1) == "you";
    to && !has(CONFIRMED, phrase.before(pair.first, 1))
}
