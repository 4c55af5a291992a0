//! The most probable words of a stretch with their times, and the numbers that they form.

use jumpseat_vocabulary::{TokenKind, VocabularyToken, output_count, tokens};

/// One word heard.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct BestPathWord {
    /// Index into `tokens()`.
    pub(crate) token: usize,
    /// Steps, first and end.
    pub(crate) steps: std::ops::Range<usize>,
    /// Probability at its clearest step, 0 to 1.
    pub(crate) probability: f64,
    /// Other words at that step, most probable first, two at most.
    pub(crate) alternatives: Vec<(usize, f64)>,
}

/// The words of `scores` (log-probabilities, `output_count()` a step) by the best path.
pub(crate) fn best_path(scores: &[f32]) -> Vec<BestPathWord> {
    let mut out: Vec<BestPathWord> = Vec::new();
    let mut last = 0;
    for (step, row) in scores.chunks_exact(output_count()).enumerate() {
        let order = three_best(row);
        let best = order[0];
        let p = |output: usize| f64::from(row[output].exp());
        if best != 0 {
            let others: Vec<(usize, f64)> = order[1..]
                .iter()
                .filter(|o| **o != 0 && p(**o) > 0.02)
                .map(|o| (o - 1, p(*o)))
                .collect();
            match out.last_mut().filter(|_| last == best) {
                Some(heard) => {
                    heard.steps.end = step + 1;
                    if p(best) > heard.probability {
                        (heard.probability, heard.alternatives) = (p(best), others);
                    }
                }
                None => out.push(BestPathWord {
                    token: best - 1,
                    steps: step..step + 1,
                    probability: p(best),
                    alternatives: others,
                }),
            }
        }
        last = best;
    }
    out
}

/// The outputs with the highest scores, the highest first.
fn three_best(row: &[f32]) -> [usize; 3] {
    let mut out = [0; 3];
    let mut scores = [f32::NEG_INFINITY; 3];
    for (output, score) in row.iter().enumerate() {
        if *score > scores[2] {
            let at = scores.iter().take_while(|higher| *higher >= score).count();
            out[at..].rotate_right(1);
            scores[at..].rotate_right(1);
            (out[at], scores[at]) = (output, *score);
        }
    }
    out
}

/// A report, a name or a number, in steps.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct StepValue {
    /// What was said: `57`, `Ruth`, `2041`.
    pub(crate) text: String,
    /// Probability, 0 to 1.
    pub(crate) probability: f64,
    /// Steps, first and end.
    pub(crate) steps: std::ops::Range<usize>,
}

/// Numbers of two or more words, or above nine: figures and tens in a row, as figures.
pub(crate) fn numbers(words: &[BestPathWord]) -> Vec<StepValue> {
    let numeric = |w: &&BestPathWord| {
        matches!(token(w).kind, TokenKind::Figure | TokenKind::Number)
            && !token(w).symbol.is_empty()
    };
    let mut out = Vec::new();
    let mut k = 0;
    while k < words.len() {
        let run: Vec<&BestPathWord> = words[k..].iter().take_while(numeric).collect();
        let text = digits(&run);
        if text.len() > 1 {
            let steps = run[0].steps.start..run[run.len() - 1].steps.end;
            out.push(StepValue {
                text,
                probability: run.iter().map(|w| w.probability).product(),
                steps,
            });
        }
        k += run.len().max(1);
    }
    out
}

/// 'seventy three' is 73, 'two zero four one' is 2041, 'forty fifty' is 4050.
fn digits(run: &[&BestPathWord]) -> String {
    let mut out = String::new();
    for (k, w) in run.iter().enumerate() {
        let symbol = token(w).symbol;
        let unit_follows = run
            .get(k + 1)
            .is_some_and(|n| token(n).kind == TokenKind::Figure && token(n).symbol != "0");
        let tens = symbol.len() == 2 && symbol.ends_with('0') && symbol != "10";
        out.push_str(if tens && unit_follows {
            &symbol[..1]
        } else {
            symbol
        });
    }
    out
}

fn token(heard: &BestPathWord) -> &'static VocabularyToken {
    &tokens()[heard.token]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heard(text: &str) -> Vec<BestPathWord> {
        let find = |word: &str| tokens().iter().position(|t| t.word == word);
        let other = tokens().len() - 1;
        let words = text.split_whitespace().enumerate();
        words
            .map(|(k, w)| BestPathWord {
                token: find(w).unwrap_or(other),
                steps: 10 * k..10 * k + 5,
                probability: 0.9,
                alternatives: Vec::new(),
            })
            .collect()
    }

    #[track_caller]
    fn check(got: Vec<StepValue>, wanted: &[&str]) {
        assert_eq!(
            got.iter().map(|s| s.text.as_str()).collect::<Vec<_>>(),
            wanted
        );
    }

    #[test]
    fn numbers_above_nine_and_in_a_row() {
        check(
            numbers(&heard("seventy three and number two zero four one")),
            &["73", "2041"],
        );
        check(numbers(&heard("highway forty and four inches")), &["40"]);
    }
}
