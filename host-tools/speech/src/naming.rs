//! Finds where the text of a window introduces names, and asks which they are.

use crate::beam_search::WrittenPiece;
use crate::error::RecogniserError;
use crate::letters::{LETTER_OUTPUTS, ROW_S};
use crate::name_places::name_places;
use crate::name_search::{NAME_ROWS, NameContext, read_name};
use crate::pieces::{MOST_PIECES, SPECIAL_PIECES, piece_texts};
use crate::text_model::TextModel;
use crate::transcript::SpokenWord;

/// Room in a text for the pieces of a name.
const NAME_PIECES: usize = 12;

/// Adds to the words of a window, which begins at `start_s` and was written with `pieces`, which
/// names they may be. `heard` and `letters` are those of `WindowScores`.
///
/// # Errors
/// Those of the model.
pub(crate) fn read_names<M: TextModel>(
    model: &M,
    heard: &[f32],
    letters: &[f32],
    start_s: f64,
    pieces: &[WrittenPiece],
    words: &mut [SpokenWord],
) -> Result<(), RecogniserError> {
    let texts: Vec<&str> = words.iter().map(|word| word.text.as_str()).collect();
    let places = name_places(&texts);
    if places.is_empty() {
        return Ok(());
    }
    let pieces: Vec<usize> = pieces.iter().map(|(piece, _)| *piece).collect();
    let begins = first_pieces(&pieces);
    for place in places {
        let (Some(first), Some(begin)) = (words.get(place.introduced_at), begins.get(place.at))
        else {
            continue;
        };
        if begin + NAME_PIECES > MOST_PIECES {
            continue;
        }
        let row = ((first.span_s.0 - start_s) / ROW_S).round() as usize;
        let from = letters.len().min(row * LETTER_OUTPUTS);
        let to = letters.len().min(from + NAME_ROWS * LETTER_OUTPUTS);
        let introduction: Vec<&str> = words[place.introduced_at..place.at]
            .iter()
            .map(|word| word.text.as_str())
            .collect();
        let context = NameContext {
            heard,
            letters: &letters[from..to],
            introduction: &introduction.join(" "),
            pieces: &pieces[..*begin],
        };
        let reading = read_name(model, &context)?;
        if let Some(word) = words.get_mut(place.at) {
            word.name = Some(reading);
        }
    }
    Ok(())
}

/// For each word that `pieces` make the number of its first piece.
fn first_pieces(pieces: &[usize]) -> Vec<usize> {
    let mut out = Vec::new();
    // A space alone is no word until letters follow it.
    let mut open = None;
    for (number, piece) in pieces.iter().enumerate() {
        let Some(text) = piece_texts()
            .get(*piece)
            .filter(|_| *piece >= SPECIAL_PIECES)
        else {
            continue;
        };
        let letters = text.strip_prefix('_');
        if letters.is_some() || (out.is_empty() && open.is_none()) {
            open = Some(number);
        }
        if !letters.unwrap_or(text).is_empty() {
            out.extend(open.take());
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(pieces: &[&str], wanted: &[usize]) {
        let rows: Vec<usize> = pieces
            .iter()
            .map(|text| piece_texts().iter().position(|p| p == text).unwrap())
            .collect();
        assert_eq!(first_pieces(&rows), wanted, "{pieces:?}");
    }

    #[test]
    fn words_begin_at_spaces() {
        check(&["_name", "_is", "_j", "e", "f"], &[0, 1, 2]);
        check(&["n", "ame", "_is"], &[0, 2]);
        check(&["_", "q", "_", "_", "s"], &[0, 3]);
        check(&[], &[]);
    }
}
