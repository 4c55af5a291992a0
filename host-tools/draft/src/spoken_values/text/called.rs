//! Names by which the operator addresses the other in the text of what he sends.

use super::introduction::is_known;
use super::letters::{is_figure, is_letter};
use super::phrase::{SpokenPhrase, has, is_other_word_too};
use crate::heard::WrittenWord;
use crate::spoken::{SpokenForm, SpokenValue};
use crate::spoken_values::first_names::capital;

/// Words right before a name with which somebody is addressed (common practice).
const ADDRESSES: &[&str] = &[
    "thanks",
    "thank you",
    "very much",
    "thanks again",
    "roger",
    "hello",
    "hello again",
    "hi",
    "hey",
    "hi there",
    "hello there",
    "okay",
    "ok",
    "morning",
    "afternoon",
    "evening",
    "good night",
    "good day",
    "cheers",
    "bye",
    "goodbye",
    "yes",
    "yeah",
    "well",
    "alright",
    "welcome",
    "congratulations",
    "fine business",
    "all the best",
    "take care",
    "so long",
    "seven three",
    "seventy three",
    "meet you",
    "hear you",
    "to you",
    "with you",
    "you too",
];
/// Words before a name that the operator repeats: 'I have your name as Tom'.
const REPEATS: &[&str] = &["your name is", "your name as", "your name's", "your name"];
/// Words after a name that make its bearer a third: 'well Tom said'.
const OF_A_THIRD: &str = "\
    is was has had said says told tells called calls came comes gave gets got does did \
    who here lives lived will would";

/// Names by which the other is called in a text.
pub(in crate::spoken_values) fn called_names(
    text: &[WrittenWord],
    over: usize,
) -> Vec<SpokenValue> {
    let mut out = Vec::new();
    for phrase in SpokenPhrase::all(text) {
        for at in 1..phrase.len() {
            if is_called(&phrase, at) {
                let (name, span) = (capital(phrase.word(at)), phrase.span(at, at));
                let probability = phrase.probability(at);
                let way = SpokenForm::WrittenNameCalled;
                out.push(SpokenValue::new(name, way, probability, over, span));
            }
        }
    }
    out
}

fn is_called(phrase: &SpokenPhrase<'_>, at: usize) -> bool {
    let name = phrase.word(at);
    let addressed = phrase.is_after_one(at, ADDRESSES) && !is_other_word_too(name);
    let repeated = phrase.is_after_one(at, REPEATS);
    // 'Mike' among letters is nobody, and ends a sign before 'mobile'.
    let next = phrase.word(at + 1);
    let goes_on = is_letter(next) || is_figure(next) || has("mobile portable maritime", next);
    let spelling = is_letter(name) && goes_on;
    is_known(name) && (addressed || repeated) && !spelling && !has(OF_A_THIRD, next)
}
