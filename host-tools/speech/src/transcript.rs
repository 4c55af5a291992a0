//! From the pieces of a text to its words: when each was said, and how probable it is.

use std::ops::Range;

use crate::alignment::{LabelScores, align, log_probability};
use crate::beam_search::WrittenPiece;
use crate::calibration::word_probability;
use crate::hearing::TranscriptWord;
use crate::letters::{LETTER_OUTPUTS, ROW_S, SPACE_OUTPUT, letter_output};
use crate::name_scoring::NameReading;
use crate::pieces::{SPECIAL_PIECES, piece_texts};

/// A word's letters stand out for a moment each; the word goes on for about this long before
/// and after, in rows of letters, unless the next word is nearer (our choice).
const WORD_MARGIN_ROWS: usize = 3;
/// No figure of a word is lower.
const LOWEST_FIGURE: f64 = -20.0;

/// A word of a transcript with the figures that its probability is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct SpokenWord {
    /// The word: small letters and apostrophes.
    pub text: String,
    /// First and end, in seconds since the beginning of the recording.
    pub span_s: (f64, f64),
    /// Log-probability of its pieces after all that was written before, -20 to 0.
    pub decoder: f64,
    /// How much less probable its letters are in its span than what is likeliest there:
    /// difference of the log-probabilities for each letter, -20 to 0.
    pub letters: f64,
    /// Where a name follows what introduces one: which it may have been.
    pub name: Option<NameReading>,
}

impl From<SpokenWord> for TranscriptWord {
    fn from(word: SpokenWord) -> Self {
        Self {
            probability: word_probability(word.decoder, word.letters),
            names: word.name.map_or_else(Vec::new, |name| {
                let names = name.probabilities().into_iter();
                names.map(|(name, p)| (name.to_owned(), p)).collect()
            }),
            text: word.text,
            span_s: word.span_s,
        }
    }
}

/// The words of the text `pieces` about a window that begins `start_s` seconds after the
/// beginning of the recording; `letters` are the letters' scores of that window.
pub(crate) fn spoken_words(
    pieces: &[WrittenPiece],
    letters: &[f32],
    start_s: f64,
) -> Vec<SpokenWord> {
    let scores = LabelScores::new(letters, LETTER_OUTPUTS);
    let words = joined(pieces);
    let labels: Vec<Vec<usize>> = words
        .iter()
        .map(|(text, _)| text.chars().filter_map(letter_output).collect())
        .collect();
    let rows = word_rows(scores, &labels);
    let words = words.into_iter().zip(&labels).zip(rows);
    words
        .map(|(((text, decoder), labels), rows)| {
            let part = scores.part(rows.clone());
            let behind = log_probability(part, labels) - part.best();
            SpokenWord {
                text,
                span_s: (
                    start_s + rows.start as f64 * ROW_S,
                    start_s + rows.end as f64 * ROW_S,
                ),
                decoder: bounded(decoder),
                letters: bounded(behind / labels.len().max(1) as f64),
                name: None,
            }
        })
        .collect()
}

/// A figure as a number that can be stored, whatever the model gave.
fn bounded(figure: f64) -> f64 {
    if figure.is_nan() {
        LOWEST_FIGURE
    } else {
        figure.clamp(LOWEST_FIGURE, 0.0)
    }
}

/// The words that `pieces` make, each with the log-probability of its pieces.
fn joined(pieces: &[WrittenPiece]) -> Vec<(String, f64)> {
    let mut out: Vec<(String, f64)> = Vec::new();
    for (piece, log_p) in pieces.iter().filter(|(piece, _)| *piece >= SPECIAL_PIECES) {
        let Some(text) = piece_texts().get(*piece) else {
            continue;
        };
        let begun = text.strip_prefix('_');
        match out.last_mut() {
            Some((word, sum)) if begun.is_none() => {
                word.push_str(text);
                *sum += log_p;
            }
            _ => out.push((begun.unwrap_or(text).to_owned(), *log_p)),
        }
    }
    out.retain(|(word, _)| !word.is_empty());
    out
}

/// The rows of each word with these `labels`: in order, without overlap. Where no path says them
/// all they share the rows by their letters.
fn word_rows(scores: LabelScores<'_>, labels: &[Vec<usize>]) -> Vec<Range<usize>> {
    let text = labels.join(&SPACE_OUTPUT);
    let mut first = 0;
    let places = labels.iter().map(|word| {
        let place = first..first + word.len();
        first += word.len() + 1;
        place
    });
    let Some(found) = align(scores, &text) else {
        let share = |at: usize| at * scores.len() / (text.len() + 1).max(1);
        return places.map(|p| share(p.start)..share(p.end)).collect();
    };
    let narrow: Vec<Range<usize>> = places
        .map(|place| {
            let rows = found.get(place).unwrap_or_default();
            let ends = rows.first().zip(rows.last());
            ends.map_or(0..0, |(first, last)| first.start..last.end)
        })
        .collect();
    let middle = |k: usize| (narrow[k - 1].end + narrow[k].start) / 2;
    (0..narrow.len())
        .map(|k| {
            let from = narrow[k].start.saturating_sub(WORD_MARGIN_ROWS);
            let end = (narrow[k].end + WORD_MARGIN_ROWS).min(scores.len());
            let from = if k > 0 { from.max(middle(k)) } else { from };
            let last = k + 1 == narrow.len();
            from..if last { end } else { end.min(middle(k + 1)) }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Letters that are said at these rows, and blanks else.
    fn said(rows: usize, letters: &[(usize, char)]) -> Vec<f32> {
        let mut out = vec![0.001_f32.ln(); rows * LETTER_OUTPUTS];
        for (row, scores) in out.chunks_exact_mut(LETTER_OUTPUTS).enumerate() {
            let letter = letters.iter().find(|(at, _)| *at == row);
            let output = letter.and_then(|(_, c)| letter_output(*c)).unwrap_or(0);
            scores[output] = 0.97_f32.ln();
        }
        out
    }

    fn piece(text: &str) -> usize {
        piece_texts().iter().position(|p| *p == text).unwrap()
    }

    fn written(pieces: &[&str]) -> Vec<WrittenPiece> {
        pieces.iter().map(|p| (piece(p), -0.5)).collect()
    }

    #[test]
    fn pieces_join_to_words_at_their_spaces() {
        let all = [
            (&["_five", "_nine"][..], &["five", "nine"][..]),
            (&["f", "i", "v", "e", "_n", "ine"], &["five", "nine"]),
            (&["_", "q", "_s"], &["q", "s"]),
            (&["_", "_"], &[]),
            (&[], &[]),
        ];
        for (pieces, words) in all {
            let got = joined(&written(pieces));
            assert_eq!(got.iter().map(|(w, _)| w).collect::<Vec<_>>(), words);
        }
        assert_eq!(joined(&[(0, -1.0), (3, -1.0), (usize::MAX, -1.0)]), []);
        assert_eq!(joined(&written(&["_n", "ine"]))[0].1, -1.0);
    }

    #[test]
    fn a_word_is_where_its_letters_are_and_an_invented_one_has_none() {
        let scores = said(
            100,
            &[(20, 'o'), (24, 'n'), (30, ' '), (40, 'n'), (42, 'o')],
        );
        let words = spoken_words(&written(&["_on", "_no"]), &scores, 10.0);
        let spans: Vec<(f64, f64)> = words.iter().map(|w| w.span_s).collect();
        let near = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).abs() + (a.1 - b.1).abs() < 1e-9;
        assert!(
            near(spans[0], (10.34, 10.56)) && near(spans[1], (10.74, 10.92)),
            "{spans:?}"
        );
        assert!(
            words.iter().all(|w| w.letters > -0.1 && w.decoder == -0.5),
            "{words:?}"
        );
        let invented = spoken_words(&written(&["_on", "_the", "_no"]), &scores, 0.0);
        let heard: Vec<bool> = invented.iter().map(|w| w.letters > -1.0).collect();
        assert_eq!(heard, [true, false, true], "{invented:?}");
    }

    #[test]
    fn words_keep_their_order_within_the_window_whatever_the_scores() {
        let mut state = 3_u32;
        for rows in [0, 1, 2, 5, 9, 40, 100] {
            for odd in [0.0, f32::NAN, f32::NEG_INFINITY] {
                let scores: Vec<f32> = (0..rows * LETTER_OUTPUTS)
                    .map(|_| {
                        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                        if state >> 28 == 0 {
                            odd
                        } else {
                            -((state >> 8) as f32) / 1e6
                        }
                    })
                    .collect();
                let words =
                    spoken_words(&written(&["_on", "_the", "_the", "_n", "oo"]), &scores, 0.0);
                let mut at = 0.0;
                for word in &words {
                    assert!(
                        word.span_s.0 >= at && word.span_s.1 >= word.span_s.0,
                        "{words:?}"
                    );
                    at = word.span_s.1;
                    assert!((LOWEST_FIGURE..=0.0).contains(&word.letters));
                }
                assert!(words.len() == 4 && at <= rows as f64 * ROW_S + 1e-9);
            }
        }
    }
}
