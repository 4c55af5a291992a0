//! The most probable text about a window: the best few texts so far grow piece by piece. Both
//! the text decoder and the letters' output have a say.

use crate::error::RecogniserError;
use crate::letter_prefix::LetterPrefix;
use crate::letters::{SPACE_OUTPUT, letter_output};
use crate::pieces::{END_PIECE, SPECIAL_PIECES, piece_texts};
use crate::text_model::{AddedPiece, TextModel};

/// How a text is searched for.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SearchSettings {
    /// Texts that grow side by side, at least one.
    pub(crate) width: usize,
    /// Longest text, in pieces without the end.
    pub(crate) most_pieces: usize,
    /// The log-probability of a text is divided by the count of its pieces, the end among them,
    /// to this power: 0 prefers short texts, 1 compares the mean of a piece.
    pub(crate) length_power: f64,
    /// What the log-probability by the letters' output counts beside the decoder's.
    pub(crate) letters_weight: f64,
}

/// A piece of a text, and its log-probability after those before it.
pub(crate) type WrittenPiece = (usize, f64);

/// A text as it grows.
#[derive(Debug, Clone)]
struct GrowingText {
    pieces: Vec<WrittenPiece>,
    /// Log-probability of the pieces together, by the decoder alone.
    sum: f64,
    /// What the letters' output says of it.
    letters: LetterPrefix,
}

/// A way to go on: a text by its row, what follows it, and the decoder's log-probability of both.
struct Candidate {
    row: usize,
    piece: usize,
    log_p: f64,
    decoder: f64,
}

/// A text that goes on: the row of that which it was, its score, and what becomes of it.
struct NextText {
    row: usize,
    score: f64,
    text: GrowingText,
}

/// The best text about a window, without its end; empty where the model finds nothing to say.
/// `heard` and `letters` are those of `WindowScores`.
///
/// # Errors
/// Those of the model.
pub(crate) fn search<M: TextModel>(
    model: &M,
    heard: &[f32],
    letters: &[f32],
    settings: SearchSettings,
) -> Result<Vec<WrittenPiece>, RecogniserError> {
    let per_length = |count: usize| (count as f64).powf(settings.length_power);
    let (mut texts, mut scores) = model.begin(heard)?;
    let mut live = vec![GrowingText {
        pieces: Vec::new(),
        sum: 0.0,
        letters: LetterPrefix::empty(letters),
    }];
    let mut best = (f64::NEG_INFINITY, Vec::new());
    loop {
        let outputs = scores.len() / live.len();
        let mut candidates: Vec<Candidate> = Vec::new();
        for (row, text) in live.iter().enumerate() {
            let row_scores = &scores[row * outputs..][..outputs];
            let end = text.sum + row_scores.get(END_PIECE).map_or(f64::NEG_INFINITY, fair);
            let ended =
                settings.score(end, || text.letters.is_all()) / per_length(text.pieces.len() + 1);
            if ended > best.0 {
                best = (ended, text.pieces.clone());
            }
            if text.pieces.len() < settings.most_pieces {
                let pieces = likeliest(row_scores, 2 * settings.width, text);
                candidates.extend(pieces.into_iter().map(|(piece, log_p)| Candidate {
                    row,
                    piece,
                    log_p,
                    decoder: text.sum + log_p,
                }));
            }
        }
        candidates.sort_by(|a, b| b.decoder.total_cmp(&a.decoder));
        // A score never rises as a text grows, so that this is the best that it can still become.
        let hopeless = |score: f64| score / per_length(settings.most_pieces + 1) <= best.0;
        let mut next: Vec<NextText> = Vec::new();
        for candidate in candidates {
            // What the letters say, which takes time, makes no score higher.
            let enough = next.len() == settings.width;
            let worst = next.last().filter(|_| enough).map(|n| n.score);
            if hopeless(candidate.decoder) || worst.is_some_and(|w| candidate.decoder <= w) {
                break;
            }
            let row = candidate.row;
            let text = live[row].with(candidate.piece, candidate.log_p, letters, settings);
            let score = settings.score(text.sum, || text.letters.begins());
            if score.is_finite() && !hopeless(score) {
                let place = next.partition_point(|n| n.score >= score);
                next.insert(place, NextText { row, score, text });
                next.truncate(settings.width);
            }
        }
        if next.is_empty() {
            return Ok(best.1);
        }
        let added = next.iter().filter_map(|n| {
            let (piece, _) = *n.text.pieces.last()?;
            Some(AddedPiece { row: n.row, piece })
        });
        scores = model.go_on(&mut texts, &added.collect::<Vec<_>>())?;
        live = next.into_iter().map(|n| n.text).collect();
    }
}

impl SearchSettings {
    /// Of the decoder's log-probability and the letters'.
    fn score(self, decoder: f64, letters: impl FnOnce() -> f64) -> f64 {
        if self.letters_weight > 0.0 {
            decoder + self.letters_weight * letters()
        } else {
            decoder
        }
    }
}

impl GrowingText {
    /// The text and then `piece`, whose log-probability is `log_p`.
    fn with(&self, piece: usize, log_p: f64, letters: &[f32], settings: SearchSettings) -> Self {
        let text = piece_texts().get(piece).copied().unwrap_or_default();
        let mut prefix = None;
        if settings.letters_weight > 0.0 {
            for letter in text.chars() {
                let output = match letter {
                    '_' if self.pieces.is_empty() => None,
                    '_' => Some(SPACE_OUTPUT),
                    letter => letter_output(letter),
                };
                if let Some(output) = output {
                    let so_far = prefix.as_ref().unwrap_or(&self.letters);
                    prefix = Some(so_far.with(letters, output));
                }
            }
        }
        Self {
            pieces: [&self.pieces[..], &[(piece, log_p)]].concat(),
            sum: self.sum + log_p,
            letters: prefix.unwrap_or_else(|| self.letters.clone()),
        }
    }
}

/// A log-probability, whatever the model gives.
fn fair(score: &f32) -> f64 {
    if score.is_nan() {
        f64::NEG_INFINITY
    } else {
        f64::from(*score).min(0.0)
    }
}

/// The likeliest pieces of words after `text`, `count` at most, in any order.
fn likeliest(scores: &[f32], count: usize, text: &GrowingText) -> Vec<(usize, f64)> {
    let mut out: Vec<(usize, f64)> = Vec::with_capacity(count + 1);
    for (piece, score) in scores.iter().enumerate().skip(SPECIAL_PIECES) {
        let log_p = fair(score);
        let lowest = out.last().filter(|_| out.len() == count);
        if lowest.is_some_and(|(_, p)| *p >= log_p) || goes_round(text, piece) {
            continue;
        }
        let place = out.partition_point(|(_, p)| *p >= log_p);
        out.insert(place, (piece, log_p));
        out.truncate(count);
    }
    out
}

/// A text that says the same pieces over and over is no text: a decoder that has lost its
/// place never ends. 'cq cq cq cq cq' is said, though.
const LONGEST_ROUND: usize = 12;
const LEAST_ROUNDS: usize = 4;
const LEAST_ROUND_PIECES: usize = 16;

/// Whether `text` and then `piece` ends in rounds of the same pieces.
fn goes_round(text: &GrowingText, piece: usize) -> bool {
    let count = text.pieces.len() + 1;
    let at = |k: usize| text.pieces.get(k).map_or(piece, |(p, _)| *p);
    (1..=LONGEST_ROUND).any(|round| {
        let repeated = LEAST_ROUND_PIECES
            .next_multiple_of(round)
            .max(LEAST_ROUNDS * round);
        count >= repeated && (count - repeated + round..count).all(|k| at(k) == at(k - round))
    })
}

#[cfg(test)]
mod tests;
