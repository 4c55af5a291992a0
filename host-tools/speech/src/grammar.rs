//! Sums the probability mass of all readings of a stretch, before each step and after it.
//!
//! The grammar is that of `lattice`, but summed over which letters and figures a sign has:
//! of an unfinished sign only its form is kept, so that no state has to be dropped and the
//! sums are exact.

use std::collections::HashMap;
use std::sync::LazyLock;

use crate::ctc::ClassRow;
use crate::fold::{BLANK_CLASS, CLASSES, WORD_CLASS, symbol_of};
use crate::sign_shape::{self, PartialSign};

/// The forms of unfinished signs; form 0 is between signs.
struct FormAutomaton {
    /// The form after one more symbol of a class, if there is one.
    next: Vec<[Option<u8>; CLASSES]>,
    /// What a form is worth as a whole sign; 1 between signs.
    worth: Vec<f64>,
}

static FORM_AUTOMATON: LazyLock<FormAutomaton> = LazyLock::new(|| {
    let mut known: HashMap<PartialSign, u8> = HashMap::from([(PartialSign::default(), 0)]);
    let mut queue = vec![PartialSign::default()];
    let mut forms = FormAutomaton {
        next: Vec::new(),
        worth: Vec::new(),
    };
    while let Some(begun) = queue.get(forms.next.len()).copied() {
        let mut row = [None; CLASSES];
        for (class, next) in row.iter_mut().enumerate() {
            let symbol = symbol_of(class).filter(|_| class != WORD_CLASS);
            if let Some(form) = symbol.and_then(|c| begun.with(c)).map(|b| b.form()) {
                let id = known.len() as u8;
                *next = Some(*known.entry(form).or_insert_with(|| {
                    queue.push(form);
                    id
                }));
            }
        }
        forms.next.push(row);
        forms.worth.push(if begun.is_empty() {
            1.0
        } else {
            begun.weight()
        });
    }
    forms
});

/// Masses of a moment, by form and class said last; the last cell is 'blank since'.
type FormMasses = Vec<[f64; CLASSES]>;

/// What came before and what may come after every moment of a stretch.
pub(crate) struct ReadingMasses {
    /// Mass between signs after so many steps, by class said last (`BLANK_CLASS`: blank since).
    pub(crate) before: Vec<[f64; CLASSES]>,
    /// Mass of all that may follow so many steps between signs, the class just said.
    pub(crate) after: Vec<[f64; CLASSES]>,
    /// What each step's masses were divided by.
    pub(crate) scale: Vec<f64>,
}

/// Sums up every reading of `rows`, so that all of them together have mass one.
pub(crate) fn sum(rows: &[ClassRow]) -> ReadingMasses {
    let (before, mut scale) = forward(rows);
    let after = backward(rows, &mut scale);
    ReadingMasses {
        before,
        after,
        scale,
    }
}

/// The weight of a class that belongs to no sign.
pub(crate) fn stray(class: usize) -> f64 {
    if class == WORD_CLASS {
        1.0
    } else {
        sign_shape::STRAY_SYMBOL_WEIGHT
    }
}

/// Mass between signs: nothing begun, or something that may be whole.
fn between(masses: &FormMasses) -> [f64; CLASSES] {
    let mut out = [0.0; CLASSES];
    for (form, worth) in masses
        .iter()
        .zip(&FORM_AUTOMATON.worth)
        .filter(|(_, w)| **w > 0.0)
    {
        for (sum, mass) in out.iter_mut().zip(form) {
            *sum += mass * worth;
        }
    }
    out
}

fn forward(rows: &[ClassRow]) -> (Vec<[f64; CLASSES]>, Vec<f64>) {
    let forms = &*FORM_AUTOMATON;
    let mut masses: FormMasses = vec![[0.0; CLASSES]; forms.worth.len()];
    masses[0][BLANK_CLASS] = 1.0;
    let (mut out, mut scale) = (vec![between(&masses)], Vec::with_capacity(rows.len()));
    for row in rows {
        let p = row.map(f64::from);
        let mut next: FormMasses = vec![[0.0; CLASSES]; forms.worth.len()];
        for (form, old) in masses.iter().enumerate() {
            let all: f64 = old.iter().sum();
            if all <= 0.0 {
                continue;
            }
            next[form][BLANK_CLASS] += all * p[BLANK_CLASS];
            for class in 1..CLASSES {
                next[form][class] += old[class] * p[class];
                if let Some(longer) = forms.next[form][class].filter(|_| form > 0) {
                    next[usize::from(longer)][class] += (all - old[class]) * p[class];
                }
            }
        }
        let free = between(&masses);
        let all: f64 = free.iter().sum();
        for class in 1..CLASSES {
            let fresh = (all - free[class]) * p[class];
            next[0][class] += fresh * stray(class);
            if let Some(first) = forms.next[0][class] {
                next[usize::from(first)][class] += fresh;
            }
        }
        let total: f64 = next.iter().flatten().sum::<f64>().max(f64::MIN_POSITIVE);
        next.iter_mut().flatten().for_each(|m| *m /= total);
        out.push(between(&next));
        scale.push(total);
        masses = next;
    }
    let whole: f64 = out.last().map_or(1.0, |last| last.iter().sum());
    if let Some(last) = scale.last_mut() {
        *last *= whole.max(f64::MIN_POSITIVE);
    }
    (out, scale)
}

fn backward(rows: &[ClassRow], scale: &mut [f64]) -> Vec<[f64; CLASSES]> {
    let forms = &*FORM_AUTOMATON;
    let mut values: FormMasses = forms.worth.iter().map(|w| [*w; CLASSES]).collect();
    let mut out = vec![[1.0; CLASSES]; rows.len() + 1];
    for (step, row) in rows.iter().enumerate().rev() {
        let p = row.map(|x| f64::from(x) / scale[step]);
        // What a class is worth that comes between signs.
        let mut open = [0.0; CLASSES];
        for class in 1..CLASSES {
            let begins = forms.next[0][class].map_or(0.0, |f| values[usize::from(f)][class]);
            open[class] = p[class] * (stray(class) * values[0][class] + begins);
        }
        let mut earlier: FormMasses = vec![[0.0; CLASSES]; values.len()];
        for (form, cells) in earlier.iter_mut().enumerate() {
            let mut fresh = open.map(|x| x * forms.worth[form]);
            for class in (1..CLASSES).filter(|_| form > 0) {
                if let Some(longer) = forms.next[form][class] {
                    fresh[class] += p[class] * values[usize::from(longer)][class];
                }
            }
            let all = fresh.iter().sum::<f64>() + p[BLANK_CLASS] * values[form][BLANK_CLASS];
            for (class, cell) in cells.iter_mut().enumerate() {
                *cell = match class {
                    BLANK_CLASS => all,
                    _ => all - fresh[class] + p[class] * values[form][class],
                };
            }
        }
        values = earlier;
        out[step] = values[0];
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exhaustive;
    use crate::fold::class_of;

    #[test]
    fn sums_equal_those_over_every_path_and_every_cut() {
        let classes = [
            BLANK_CLASS,
            class_of('K'),
            class_of('7'),
            class_of('Q'),
            WORD_CLASS,
        ];
        for seed in 1..6 {
            let rows = exhaustive::rows(seed, 6, &classes);
            let all = sum(&rows);
            let got: f64 = all.scale.iter().product();
            let wanted: f64 = exhaustive::every_text(&rows, &classes)
                .iter()
                .map(|(text, p)| {
                    p * exhaustive::every_cut(text)
                        .iter()
                        .map(|(w, _)| w)
                        .sum::<f64>()
                })
                .sum();
            assert!((got / wanted - 1.0).abs() < 1e-9, "{got} {wanted}");
            assert!(
                (all.after[0][BLANK_CLASS] - 1.0).abs() < 1e-9,
                "{:?}",
                all.after[0]
            );
        }
    }
}
