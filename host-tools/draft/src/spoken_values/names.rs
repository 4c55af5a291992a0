//! First names.

use super::first_names::capital;
use super::{spelled, text};
use crate::drive::{AssemblyInput, OverDirection};
use crate::heard::{HeardText, HeardWord};
use crate::over_stretch::OverStretch;
use crate::spoken::{SpokenForm, SpokenValue, heard_in, is_symbol};
use jumpseat_vocabulary::WordSense;

/// Senses of words after which a name is the other operator's (common practice).
const ADDRESSING_SENSES: [WordSense; 3] = [WordSense::Roger, WordSense::You, WordSense::Greeting];

/// Letters are said within this time of one another, in seconds.
const SPELLING_NEAR_S: f64 = 0.8;

/// Names that others gave as theirs, and those that the operator calls them.
pub(super) fn spoken_names(drive: &AssemblyInput, overs: &[usize]) -> Vec<SpokenValue> {
    let mut found = Vec::new();
    for (over, heard) in heard_in(drive, overs, OverDirection::Rx) {
        for one in &heard.names {
            if !is_letter(&heard.words, one) {
                let text = one.text.clone();
                found.push(SpokenValue::new(
                    text,
                    SpokenForm::NameGiven,
                    one.probability,
                    over,
                    one.span,
                ));
            }
        }
        found.extend(spelled::names(&heard.words, over));
        found.extend(text::given_names(&heard.text, over));
    }
    for (over, heard) in heard_in(drive, overs, OverDirection::Tx) {
        found.extend(text::called_names(&heard.text, over));
        for (at, word) in heard.words.iter().enumerate() {
            if !word.is_name || is_spelling(&heard.words, at) {
                continue;
            }
            let before = at.checked_sub(1).map(|before| &heard.words[before]);
            let addressed = before.is_some_and(|one| one.means_any(&ADDRESSING_SENSES));
            let way = if addressed {
                SpokenForm::NameAddressed
            } else {
                SpokenForm::NameAlone
            };
            found.push(SpokenValue::new(
                capital(&word.word),
                way,
                word.probability,
                over,
                word.span,
            ));
        }
    }
    // What the operator gives as his name on this drive is nobody else's here.
    let everywhere: Vec<usize> = (0..drive.overs.len()).collect();
    let sent = heard_in(drive, &everywhere, OverDirection::Tx);
    let mut own: Vec<String> = Vec::new();
    for (over, heard) in sent {
        own.extend(heard.names.iter().map(|said| said.text.clone()));
        let written = text::own_names(&heard.text, over);
        own.extend(written.into_iter().map(|said| said.text));
    }
    found.retain(|one| !own.contains(&one.text));
    found
}

/// Where others said 'name': there a person finds one that was not made out.
pub(super) fn name_places(drive: &AssemblyInput, overs: &[usize]) -> Vec<OverStretch> {
    let mut out = Vec::new();
    for (over, heard) in heard_in(drive, overs, OverDirection::Rx) {
        let words = heard
            .words
            .iter()
            .filter(|word| word.means(WordSense::Name));
        out.extend(words.map(|word| OverStretch {
            over,
            start_s: word.span.start_s,
            end_s: word.span.end_s + 2.0,
        }));
    }
    out
}

/// Whether what was taken for a name is a spelling word among letters.
fn is_letter(words: &[HeardWord], said: &HeardText) -> bool {
    let meant = |word: &HeardWord| {
        word.word.eq_ignore_ascii_case(&said.text) && word.span.meets(&said.span)
    };
    let at = words.iter().position(meant);
    at.is_some_and(|at| is_spelling(words, at))
}

/// Whether a word that is a name and a spelling word stands among letters: 'Mike' in a
/// call sign is nobody.
fn is_spelling(words: &[HeardWord], at: usize) -> bool {
    let word = &words[at];
    let near = |other: &HeardWord| {
        let apart =
            (other.span.start_s - word.span.end_s).max(word.span.start_s - other.span.end_s);
        is_symbol(&other.symbol) && apart < SPELLING_NEAR_S
    };
    let before = at.checked_sub(1).and_then(|before| words.get(before));
    is_symbol(&word.symbol) && (before.is_some_and(near) || words.get(at + 1).is_some_and(near))
}
