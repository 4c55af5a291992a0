//! Enumerates every path and every cut; the sums of the decoder are tested against these.

use crate::between::{self, AFTER_OTHER};
use crate::ctc::ClassRow;
use crate::fold::{BLANK_CLASS, CLASSES};
use crate::sign_shape::PartialSign;

/// Rows over a few classes, pseudo-random.
pub(crate) fn rows(seed: u64, count: usize, classes: &[usize]) -> Vec<ClassRow> {
    let mut state = seed;
    let mut draw = || {
        state = state
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        (state >> 40) as f32 / 16_777_216.0
    };
    (0..count)
        .map(|_| {
            let mut row: ClassRow = [0.0; CLASSES];
            for c in classes {
                row[*c] = draw() + 0.01;
            }
            let sum: f32 = row.iter().sum();
            row.iter_mut().for_each(|p| *p /= sum);
            row
        })
        .collect()
}

/// All sequences of classes with their probabilities, collapsed as CTC does.
pub(crate) fn every_text(rows: &[ClassRow], classes: &[usize]) -> Vec<(Vec<usize>, f64)> {
    let mut all = vec![(Vec::<usize>::new(), 1.0_f64)];
    for row in rows {
        all = all
            .into_iter()
            .flat_map(|(path, p)| {
                classes.iter().map(move |c| {
                    let mut longer = path.clone();
                    longer.push(*c);
                    (longer, p * f64::from(row[*c]))
                })
            })
            .collect();
    }
    for (path, _) in &mut all {
        path.dedup();
        path.retain(|c| *c != BLANK_CLASS);
    }
    all
}

/// Every cut of `text` into signs, wholes that are none (an empty text among the signs) and
/// strays: (weight, signs).
pub(crate) fn every_cut(text: &[usize]) -> Vec<(f64, Vec<String>)> {
    cuts_after(AFTER_OTHER, text)
}

fn cuts_after(state: usize, text: &[usize]) -> Vec<(f64, Vec<String>)> {
    let Some((first, rest)) = text.split_first() else {
        return vec![(1.0, Vec::new())];
    };
    let (next, weight) = between::of_class()[*first].stray[state];
    let cuts = cuts_after(next, rest).into_iter();
    let mut out: Vec<(f64, Vec<String>)> = cuts.map(|(w, signs)| (w * weight, signs)).collect();
    let mut begun = (
        PartialSign::default(),
        between::of_class()[*first].beginning[state],
    );
    for (k, class) in text.iter().enumerate() {
        let Some((longer, weight)) = begun.0.with(*class) else {
            break;
        };
        begun = (longer, begun.1 * weight);
        let wholes = [
            (longer.form().sign_weight(), longer.said_once().to_string()),
            (longer.form().other_weight(), String::new()),
        ];
        for (weight, sign) in wholes {
            for (w, mut signs) in cuts_after(AFTER_OTHER, &text[k + 1..]) {
                signs.insert(0, sign.clone());
                out.push((w * begun.1 * weight, signs));
            }
        }
    }
    out.retain(|(w, _)| *w > 0.0);
    out
}
