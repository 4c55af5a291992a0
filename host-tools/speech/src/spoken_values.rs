//! Finds reports and names in everything that the model holds possible, not only in its best
//! path.
//!
//! A clue ('you are', 'name is') is looked for first, then what follows it at once: of
//! every report that there is, the share of all CTC paths in which its two words follow
//! each other (`ctc::probability_within`); of every first name, the share of the paths
//! in which it occurs at all.

use std::ops::Range;

use jumpseat_vocabulary::{TokenKind, VocabularyToken, WordSense, output_count, tokens};

use crate::best_path::StepValue;
use crate::ctc::{self, ClassRow};
use crate::fold::{BLANK_CLASS, CLASSES, WORD_CLASS, class_of};

/// A report comes after words of these senses.
const BEFORE_REPORT: [WordSense; 5] = [
    WordSense::Are,
    WordSense::Report,
    WordSense::Copy,
    WordSense::Roger,
    WordSense::Is,
];
/// A name comes after words of this sense.
const BEFORE_NAME: [WordSense; 1] = [WordSense::Name];
/// A clue is one from this probability on.
const LEAST_CLUE_PROBABILITY: f32 = 0.25;
/// Steps after a clue within which the report is complete (2.6 s), or the name begins.
const CLUE_REACH_STEPS: usize = 65;
/// Reports and names less probable than this are dropped.
const LEAST_CLUED_PROBABILITY: f64 = 0.25;

/// Signal reports: readability 1 to 5 and strength 1 to 9, after a clue.
pub(crate) fn reports(scores: &[f32]) -> Vec<StepValue> {
    let mut out: Vec<StepValue> = Vec::new();
    let size = output_count();
    for clue in clues(scores, &BEFORE_REPORT) {
        let steps = clue.end..(clue.end + CLUE_REACH_STEPS).min(scores.len() / size);
        let rows = &as_values(&scores[steps.start * size..steps.end * size]);
        let candidates = pairs().map(|text| {
            let labels: Vec<usize> = text.chars().map(class_of).collect();
            (ctc::probability_within(rows, &labels), text)
        });
        let Some((probability, text)) = candidates.max_by(|a, b| a.0.total_cmp(&b.0)) else {
            continue;
        };
        let steps = place(rows, &text, steps.start);
        let again = out.last().is_some_and(|o| o.steps == steps);
        if probability > LEAST_CLUED_PROBABILITY && !again {
            out.push(StepValue {
                text,
                probability,
                steps,
            });
        }
    }
    out
}

/// Where a report is clearest: from its first figure to its second.
fn place(rows: &[ClassRow], text: &str, first: usize) -> Range<usize> {
    let peak = |from: usize, symbol: char| {
        let class = class_of(symbol);
        let best = (from..rows.len()).max_by(|a, b| rows[*a][class].total_cmp(&rows[*b][class]));
        best.unwrap_or(from)
    };
    let mut symbols = text.chars();
    let mut next = |from: usize| symbols.next().map_or(from, |c| peak(from, c));
    let readable = next(0);
    let strong = next(readable + 1);
    first + readable..first + strong + 1
}

fn pairs() -> impl Iterator<Item = String> {
    (1..=5).flat_map(|r| (1..=9).map(move |s| format!("{r}{s}")))
}

/// Rows in which 'fifty' is a five and 'and' is nothing, as in 'fifty nine', 'five and nine'.
fn as_values(scores: &[f32]) -> Vec<ClassRow> {
    let classes: Vec<usize> = std::iter::once(BLANK_CLASS)
        .chain(tokens().iter().map(value_class))
        .collect();
    let steps = scores.chunks_exact(output_count());
    let row = |step: &[f32]| {
        let mut row = [1e-9; CLASSES];
        for (score, class) in step.iter().zip(&classes) {
            row[*class] += score.exp();
        }
        row
    };
    steps.map(row).collect()
}

fn value_class(token: &VocabularyToken) -> usize {
    let symbol = token.symbol.chars().next();
    let tens = token.symbol.len() == 2 && token.symbol.ends_with('0');
    match token.kind {
        TokenKind::Talk | TokenKind::Name => WORD_CLASS,
        TokenKind::Word if token.sense == Some(WordSense::And) => BLANK_CLASS,
        TokenKind::Word => WORD_CLASS,
        TokenKind::Number if !tens => WORD_CLASS,
        _ => symbol.map_or(WORD_CLASS, class_of),
    }
}

/// First names after a clue: the first that is heard; letters that spell one come after it.
pub(crate) fn names(scores: &[f32]) -> Vec<StepValue> {
    let size = output_count();
    let named = |clue: Range<usize>| {
        let steps = clue.end..(clue.end + CLUE_REACH_STEPS).min(scores.len() / size);
        let heard = tokens().iter().enumerate().filter(|(_, t)| t.is_name);
        let heard = heard.map(|(k, t)| {
            let p = steps
                .clone()
                .map(|step| f64::from(scores[step * size + k + 1].exp()));
            let never: f64 = p.clone().map(|p| 1.0 - p).product();
            let peak = steps.clone().zip(p).max_by(|a, b| a.1.total_cmp(&b.1));
            (peak.map_or(0, |(step, _)| step), 1.0 - never, t.word)
        });
        let first = heard
            .filter(|(_, p, _)| *p > LEAST_CLUED_PROBABILITY)
            .min_by_key(|(step, ..)| *step);
        first.map(|(step, probability, word)| StepValue {
            text: word[..1].to_uppercase() + &word[1..],
            probability,
            steps: step..step + 1,
        })
    };
    clues(scores, &BEFORE_NAME)
        .into_iter()
        .filter_map(named)
        .collect()
}

/// The places where a word of one of these senses is heard.
fn clues(scores: &[f32], senses: &[WordSense]) -> Vec<Range<usize>> {
    let numbered = tokens().iter().enumerate();
    let outputs: Vec<usize> = numbered
        .filter(|(_, t)| t.sense.is_some_and(|sense| senses.contains(&sense)))
        .map(|(k, _)| k + 1)
        .collect();
    let mut out: Vec<Range<usize>> = Vec::new();
    for (step, row) in scores.chunks_exact(output_count()).enumerate() {
        if outputs.iter().map(|o| row[*o].exp()).sum::<f32>() > LEAST_CLUE_PROBABILITY {
            match out.last_mut().filter(|clue| clue.end == step) {
                Some(clue) => clue.end = step + 1,
                None => out.push(step..step + 1),
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Scores in which each word is heard with probability 0.8, or as `word/other` with 0.5 and 0.3.
    fn scores(text: &str) -> Vec<f32> {
        let size = output_count();
        let output = |word: &str| {
            let found = tokens().iter().position(|t| t.word == word);
            found.map_or(size - 1, |k| k + 1)
        };
        let mut out = Vec::new();
        for word in text.split(' ') {
            let mut row = vec![1e-6_f32; size];
            match word.split_once('/') {
                Some((likelier, other)) => {
                    (row[output(likelier)], row[output(other)], row[BLANK_CLASS]) = (0.5, 0.3, 0.2);
                }
                None => (row[output(word)], row[BLANK_CLASS]) = (0.8, 0.2),
            }
            out.extend(row.iter().map(|p| p.ln()));
            let mut blank = vec![1e-6_f32; size];
            blank[BLANK_CLASS] = 1.0;
            out.extend(blank.iter().cycle().take(4 * size).map(|p| p.ln()));
        }
        out
    }

    #[track_caller]
    fn check(got: Vec<StepValue>, wanted: &[&str]) {
        let texts: Vec<&str> = got.iter().map(|s| s.text.as_str()).collect();
        assert_eq!(texts, wanted);
    }

    #[test]
    fn reports_in_their_many_forms() {
        check(reports(&scores("kilo you are five seven in ohio")), &["57"]);
        check(reports(&scores("you're fifty nine plus twenty")), &["59"]);
        check(reports(&scores("your report is five and nine")), &["59"]);
        check(reports(&scores("you are very welcome here")), &[]);
        check(reports(&scores("five nine")), &[]);
    }

    #[test]
    fn a_report_is_heard_though_its_clue_and_its_figures_are_in_doubt() {
        check(reports(&scores("you or/are five seven")), &["57"]);
        check(reports(&scores("you are five/fine seven/seventy")), &["57"]);
    }

    #[test]
    fn the_first_name_after_the_clue_is_the_name() {
        check(names(&scores("name here is ruth romeo uniform")), &["Ruth"]);
        check(names(&scores("name is roof/ruth")), &["Ruth"]);
        check(names(&scores("this is ruth")), &[]);
    }
}
