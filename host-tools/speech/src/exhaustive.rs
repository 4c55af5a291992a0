//! Enumerates every path and every cut; the sums of the decoder are tested against these.

use crate::ctc::ClassRow;
use crate::fold::{BLANK_CLASS, CLASSES, WORD_CLASS, symbol_of};
use crate::sign_shape;

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

/// Every cut of `text` into signs and strays: (weight, signs).
pub(crate) fn every_cut(text: &[usize]) -> Vec<(f64, Vec<String>)> {
    let Some((first, rest)) = text.split_first() else {
        return vec![(1.0, Vec::new())];
    };
    let stray = if *first == WORD_CLASS {
        1.0
    } else {
        sign_shape::STRAY_SYMBOL_WEIGHT
    };
    let mut out: Vec<(f64, Vec<String>)> = every_cut(rest)
        .into_iter()
        .map(|(w, signs)| (w * stray, signs))
        .collect();
    for size in 3..=text.len() {
        let sign: String = text[..size].iter().filter_map(|c| symbol_of(*c)).collect();
        let weight = sign_shape::weight(sign.as_bytes());
        for (w, mut signs) in every_cut(&text[size..]) {
            signs.push(sign.clone());
            out.push((w * weight, signs));
        }
    }
    out.retain(|(w, _)| *w > 0.0);
    out
}
