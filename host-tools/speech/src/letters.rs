//! The letters' output of the model: blank, space, a to z, apostrophe, 50 times a second.

use crate::acoustic::STEP_S;

/// Log-probabilities of a row.
pub const LETTER_OUTPUTS: usize = 29;
/// Rows in a step of the model.
pub(crate) const ROWS_PER_STEP: usize = 2;
/// Seconds of a row: 20 ms.
pub(crate) const ROW_S: f64 = STEP_S / ROWS_PER_STEP as f64;
/// Outputs that are no letters.
pub(crate) const BLANK_OUTPUT: usize = 0;
pub(crate) const SPACE_OUTPUT: usize = 1;
const FIRST_LETTER: usize = 2;
const APOSTROPHE_OUTPUT: usize = 28;

/// The output of a small letter, a space or an apostrophe; nothing for any other sign.
pub(crate) fn letter_output(letter: char) -> Option<usize> {
    match letter {
        ' ' => Some(SPACE_OUTPUT),
        'a'..='z' => Some(FIRST_LETTER + letter as usize - 'a' as usize),
        '\'' => Some(APOSTROPHE_OUTPUT),
        _ => None,
    }
}

/// The likeliest output of each row of `letters` (log-probabilities).
pub(crate) fn likeliest(letters: &[f32]) -> Vec<usize> {
    let rows = letters.chunks_exact(LETTER_OUTPUTS);
    rows.map(|row| (0..row.len()).fold(0, |best, k| if row[k] > row[best] { k } else { best }))
        .collect()
}

/// The likeliest output of each row as a text: what stands out, without knowledge of words.
pub(crate) fn likeliest_text(letters: &[f32]) -> String {
    let mut outputs = likeliest(letters);
    outputs.dedup();
    let signs = outputs.into_iter().filter_map(sign);
    signs.collect()
}

/// The sign of an output; nothing for the blank.
fn sign(output: usize) -> Option<char> {
    let mut signs = " '".chars().chain('a'..='z');
    signs.find(|sign| letter_output(*sign) == Some(output))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_output_but_the_blank_has_a_sign() {
        let signs = " abcdefghijklmnopqrstuvwxyz'".chars();
        let outputs: Vec<Option<usize>> = signs.map(letter_output).collect();
        assert_eq!(outputs, (1..LETTER_OUTPUTS).map(Some).collect::<Vec<_>>());
        assert!(
            ['A', '_', '1', 'é']
                .iter()
                .all(|c| letter_output(*c).is_none())
        );
    }

    #[test]
    fn a_text_has_letters_once_unless_a_blank_parts_them() {
        let outputs = [0, 2, 2, 1, 3, 0, 3, 0, 28];
        let mut rows = vec![-9.0; outputs.len() * LETTER_OUTPUTS];
        for (row, output) in rows.chunks_exact_mut(LETTER_OUTPUTS).zip(outputs) {
            row[output] = 0.0;
        }
        assert_eq!(likeliest_text(&rows), "a bb'");
        assert_eq!(likeliest_text(&[]), "");
    }
}
