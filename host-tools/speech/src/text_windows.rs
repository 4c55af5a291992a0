//! Where a long stretch is cut for the text decoder: between words, in a pause.

use std::ops::Range;

use crate::letters::{BLANK_OUTPUT, ROWS_PER_STEP, SPACE_OUTPUT, likeliest};

/// Steps of the longest window of which a text is written: 11 s, a little less than the longest
/// windows of the decoder's training.
pub(crate) const LONGEST_TEXT_STEPS: usize = 275;
/// Steps that are left for the last window at least: 4 s, the shortest windows of the decoder's
/// training.
const SHORTEST_TEXT_STEPS: usize = 100;
/// No cut is earlier than 7 s, where that leaves enough: every window is heard in whole, so that
/// early cuts have much heard twice.
const EARLIEST_CUT_STEPS: usize = 175;
/// Steps that the encoder is given at once, so that it hears what follows a cut: 12 s.
pub(crate) const LONGEST_HEARD_STEPS: usize = 300;
/// A pause is as good as a longer one from here on, in rows of letters: 0.6 s.
const LONG_PAUSE_ROWS: usize = 30;

/// How many steps to write of next, of `rest` steps that are left of a stretch; `letters` are the
/// scores of the first of these, as many as were heard. At least one if any are left, and never
/// more than `LONGEST_TEXT_STEPS`.
pub(crate) fn steps_to_write(letters: &[f32], rest: usize) -> usize {
    if rest <= LONGEST_TEXT_STEPS {
        return rest;
    }
    let latest = LONGEST_TEXT_STEPS.min(rest - SHORTEST_TEXT_STEPS);
    let earliest = EARLIEST_CUT_STEPS
        .min(latest * 2 / 3)
        .max(SHORTEST_TEXT_STEPS);
    let allowed = earliest * ROWS_PER_STEP..latest * ROWS_PER_STEP;
    let said = likeliest(letters);
    let pause = longest(&between_words(&said), &allowed)
        .or_else(|| longest(&runs_of_blanks(&said), &allowed));
    pause.map_or(latest, |rows| {
        let middle = (rows.start + rows.end) / 2;
        (middle / ROWS_PER_STEP).clamp(earliest, latest)
    })
}

/// Rows from the last letter of a word to the first of the next, before all and after all.
fn between_words(said: &[usize]) -> Vec<Range<usize>> {
    let mut out = Vec::new();
    let (mut from, mut parted) = (0, true);
    for (row, output) in said.iter().enumerate() {
        match *output {
            BLANK_OUTPUT => {}
            SPACE_OUTPUT => parted = true,
            _ => {
                if parted {
                    out.push(from..row);
                }
                (from, parted) = (row + 1, false);
            }
        }
    }
    out.push(from..said.len());
    out
}

fn runs_of_blanks(said: &[usize]) -> Vec<Range<usize>> {
    let mut out = Vec::new();
    let mut from = 0;
    for run in said.chunk_by(|a, b| a == b) {
        if run.first() == Some(&BLANK_OUTPUT) {
            out.push(from..from + run.len());
        }
        from += run.len();
    }
    out
}

/// The part within `allowed` of the longest pause there; of several as long the last, so that
/// fewer windows are heard.
fn longest(pauses: &[Range<usize>], allowed: &Range<usize>) -> Option<Range<usize>> {
    pauses
        .iter()
        .map(|pause| pause.start.max(allowed.start)..pause.end.min(allowed.end))
        .filter(|pause| !pause.is_empty())
        .max_by_key(|pause| pause.len().min(LONG_PAUSE_ROWS))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::letters::LETTER_OUTPUTS;

    /// Scores that say these outputs.
    fn letters(said: &[usize]) -> Vec<f32> {
        let mut out = vec![-9.0; said.len() * LETTER_OUTPUTS];
        for (row, output) in out.chunks_exact_mut(LETTER_OUTPUTS).zip(said) {
            row[*output] = -0.1;
        }
        out
    }

    /// Talk of 600 rows without a pause, but for these.
    fn talk(pauses: &[(Range<usize>, usize)]) -> Vec<usize> {
        let mut said = vec![7; 2 * LONGEST_HEARD_STEPS];
        for (rows, output) in pauses {
            said[rows.clone()].fill(BLANK_OUTPUT);
            said[(rows.start + rows.end) / 2] = *output;
        }
        said
    }

    #[track_caller]
    fn check(pauses: &[(Range<usize>, usize)], rest: usize, wanted: usize) {
        assert_eq!(steps_to_write(&letters(&talk(pauses)), rest), wanted);
    }

    #[test]
    fn the_cut_lies_in_the_longest_pause_between_words() {
        let (blank, space) = (BLANK_OUTPUT, SPACE_OUTPUT);
        check(&[], 900, 275);
        check(
            &[(300..304, space), (400..410, space), (500..504, space)],
            900,
            202,
        );
        // A longer run of blanks inside a word is none; where all is one word it is taken.
        check(&[(360..364, space), (400..440, blank)], 900, 181);
        check(&[(400..440, blank)], 900, 210);
        // Of two long ones the later; one that is too early or too late is none.
        check(&[(352..400, space), (420..460, space)], 900, 220);
        check(
            &[(100..180, space), (360..364, space), (560..590, space)],
            900,
            181,
        );
        // Half of a pause may be allowed.
        check(&[(520..600, space)], 900, 267);
    }

    #[test]
    fn what_is_short_is_one_window_and_what_is_left_over_is_not_too_short() {
        check(&[(300..340, SPACE_OUTPUT)], 275, 275);
        check(
            &[(300..304, SPACE_OUTPUT), (480..520, SPACE_OUTPUT)],
            280,
            151,
        );
        check(&[], 276, 176);
        check(&[], 0, 0);
    }

    #[test]
    fn windows_join_without_gap_whatever_the_letters_say() {
        let mut state = 1_u32;
        for rest in (0..3000).step_by(7) {
            let mut left = rest;
            while left > 0 {
                let rows = 2 * left.min(LONGEST_HEARD_STEPS);
                let said: Vec<usize> = (0..rows)
                    .map(|_| {
                        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                        [BLANK_OUTPUT, BLANK_OUTPUT, SPACE_OUTPUT, 7][(state >> 30) as usize]
                    })
                    .collect();
                let taken = steps_to_write(&letters(&said), left);
                assert!((1..=LONGEST_TEXT_STEPS.min(left)).contains(&taken));
                assert!(
                    taken == left
                        || (SHORTEST_TEXT_STEPS..=left - SHORTEST_TEXT_STEPS).contains(&taken)
                );
                left -= taken;
            }
        }
        assert!((1..=275).contains(&steps_to_write(&[], 900)));
    }
}
