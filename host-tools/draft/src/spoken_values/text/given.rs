//! Names that somebody gives as his own in a text, and spells.

use jumpseat_values::Span;
use strsim::levenshtein;

use super::introduction::{self, IntroducedPlace, is_known};
use super::letters::LetterRun;
use super::phrase::SpokenPhrase;
use crate::heard::WrittenWord;
use crate::spoken::{SpokenForm, SpokenValue};
use crate::spoken_values::first_names::capital;
use crate::spoken_values::spelled::{self, SpellingPlace};

/// Names that are given in a text.
pub(in crate::spoken_values) fn given_names(text: &[WrittenWord], over: usize) -> Vec<SpokenValue> {
    let mut out = Vec::new();
    for phrase in SpokenPhrase::all(text) {
        for place in introduction::places(&phrase) {
            out.extend(names_at(&phrase, place, over, usize::MAX));
        }
    }
    out
}

/// What a speaker gives as his own name beyond doubt.
pub(in crate::spoken_values) fn own_names(text: &[WrittenWord], over: usize) -> Vec<SpokenValue> {
    let mut out = Vec::new();
    for phrase in SpokenPhrase::all(text) {
        for place in introduction::places(&phrase) {
            if place.surely_own {
                out.extend(names_at(&phrase, place, over, 1));
            }
        }
    }
    out
}

/// The name at a place, and the same as it is spelled; of names that only sound alike `most`.
fn names_at(
    phrase: &SpokenPhrase<'_>,
    place: IntroducedPlace,
    over: usize,
    most: usize,
) -> Vec<SpokenValue> {
    let at = place.at;
    let mut said = introduction::name_at(phrase, place);
    let mut run = LetterRun::after(phrase, at + usize::from(said.is_some()), said.unwrap_or(""));
    // 'Name is Mike India Kilo Echo': what looked like the name is its first letter.
    let whole = LetterRun::at(phrase, at);
    if is_known(&whole.text().to_lowercase()) {
        (run, said) = (whole, None);
    }
    let spelled = spelled_name(&run, said, over);
    let mut said = said.map(|name| {
        let way = if is_known(name) {
            SpokenForm::WrittenName
        } else {
            SpokenForm::WrittenNameUnknown
        };
        let probability = phrase.probability(at);
        SpokenValue::new(capital(name), way, probability, over, phrase.span(at, at))
    });
    if spelled.is_none() && !phrase.names(at).is_empty() {
        return sounding_names(phrase, at, said, over, most);
    }
    if let (Some(given), Some(letters)) = (&mut said, &spelled) {
        settle(given, letters);
    }
    // Letters that make quite another name tell what was said.
    let stands = |given: &SpokenValue| {
        let other = spelled.as_ref().filter(|one| one.text != given.text);
        other.is_none_or(|letters| is_one_letter_wrong(given, letters))
    };
    said.into_iter()
        .filter(stands)
        .chain(spelled.clone())
        .collect()
}

/// So much is left at least for none of the names that a word may be by its sound (our choice).
const LEAST_OTHER_NAME: f64 = 0.02;

/// The `most` likeliest of the names that the word at a place may be by its sound, and that word
/// if it is another name.
fn sounding_names(
    phrase: &SpokenPhrase<'_>,
    at: usize,
    said: Option<SpokenValue>,
    over: usize,
    most: usize,
) -> Vec<SpokenValue> {
    let names = phrase.names(at);
    let named: f64 = names.iter().map(|(_, p)| p).sum();
    let other = (1.0 - named).max(LEAST_OTHER_NAME);
    // A name that everyone knows was heard among all words, which says more than the list does.
    if let Some(known) = said.as_ref().filter(|said| is_known(&said.text)) {
        let left = 1.0 - known.probability;
        let others = names.iter().filter(|(name, _)| *name != known.text);
        let others = others.map(|(name, p)| {
            let span = phrase.span(at, at);
            SpokenValue::new(name.clone(), SpokenForm::WrittenName, p * left, over, span)
        });
        return std::iter::once(known.clone())
            .chain(others)
            .take(most)
            .collect();
    }
    let is_other = |said: &SpokenValue| !names.iter().any(|(name, _)| *name == said.text);
    let said = said.filter(is_other).map(|said| SpokenValue {
        way: SpokenForm::WrittenNameUnknown,
        probability: said.probability * other,
        ..said
    });
    // Only one of them was said: `ranked` compares each with its odds against none.
    let value = |(name, p): &(String, f64)| {
        let (way, against_none) = (SpokenForm::WrittenName, p / (p + other));
        SpokenValue::new(name.clone(), way, against_none, over, phrase.span(at, at))
    };
    names.iter().map(value).chain(said).take(most).collect()
}

/// Whether a known name was said and nobody's was spelled, with a letter that may be misheard.
fn is_one_letter_wrong(given: &SpokenValue, letters: &SpokenValue) -> bool {
    let known = is_known(&given.text) && !is_known(&letters.text);
    known && levenshtein(&given.text, &letters.text) == 1
}

/// A name that sounds like the spelled one is meant to be that.
fn settle(given: &mut SpokenValue, letters: &SpokenValue) {
    if spelled::is_alike(&given.text, &letters.text) && !is_one_letter_wrong(given, letters) {
        given.text.clone_from(&letters.text);
    }
}

/// The name that letters make after one was said.
fn spelled_name(run: &LetterRun, said: Option<&str>, over: usize) -> Option<SpokenValue> {
    let expected = said.map(str::to_uppercase);
    let short = expected.as_ref().filter(|name| **name == run.text());
    let (text, probability, span) = match (short, run.letters.first().zip(run.letters.last())) {
        (Some(name), Some((first, last))) => (
            name.clone(),
            run.letters
                .iter()
                .map(|letter| letter.probability)
                .product(),
            Span::new(first.span.start_s, last.span.end_s),
        ),
        _ => {
            let place = SpellingPlace {
                is_too_soon: false,
                sign_follows: run.sign_follows,
                said: expected.as_deref(),
            };
            let best = spelled::best(&run.letters, &place)?;
            (best.text, best.probability, best.span)
        }
    };
    let confirmed = expected.is_some_and(|name| spelled::is_alike(&name, &text));
    let way = if is_known(&text) || confirmed {
        SpokenForm::WrittenNameSpelled
    } else {
        SpokenForm::WrittenNameSpelledUnknown
    };
    Some(SpokenValue::new(
        capital(&text),
        way,
        probability,
        over,
        span,
    ))
}
