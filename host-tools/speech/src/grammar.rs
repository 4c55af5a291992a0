//! Sums the probability mass of all readings of a stretch, before each step and after it.
//!
//! The grammar is that of `lattice`, but summed over which letters and figures a sign has:
//! of an unfinished sign only its form is kept, so that no state has to be dropped and the
//! sums are exact.

use std::collections::HashMap;
use std::sync::LazyLock;

use crate::between::{AFTER_OTHER, BETWEEN_STATES, beginning, stray};
use crate::ctc::ClassRow;
use crate::fold::{BLANK_CLASS, CLASSES};
use crate::sign_form::SignForm;
use crate::sign_shape::PartialSign;

/// Classes less probable than this add nothing to the sums.
const LEAST_SUMMED_PROBABILITY: f32 = 1e-5;

/// A place of the grammar: those between signs first, then the forms of unfinished signs.
type FormPlace = u8;

/// The forms of unfinished signs, and what may come between signs.
struct FormAutomaton {
    /// From each place with each class: the place of the sign that goes on, and the weight.
    next: Vec<[Option<(FormPlace, f64)>; CLASSES]>,
    /// What a place is worth as the end of a whole, a sign or another; 1 between signs.
    worth: Vec<f64>,
}

static FORM_AUTOMATON: LazyLock<FormAutomaton> = LazyLock::new(|| {
    let mut known: HashMap<SignForm, FormPlace> = HashMap::new();
    let mut queue: Vec<SignForm> = Vec::new();
    let mut forms = FormAutomaton {
        next: Vec::new(),
        worth: Vec::new(),
    };
    let mut row = |begun: SignForm, queue: &mut Vec<SignForm>| {
        let begun = PartialSign::of_form(begun);
        std::array::from_fn(|class| {
            let (longer, weight) = begun.with(class)?;
            let place = (BETWEEN_STATES + known.len()) as FormPlace;
            let place = *known.entry(longer.form()).or_insert_with(|| {
                queue.push(longer.form());
                place
            });
            Some((place, weight))
        })
    };
    for state in 0..BETWEEN_STATES {
        let mut first: [Option<(FormPlace, f64)>; CLASSES] = row(SignForm::default(), &mut queue);
        for (class, way) in first.iter_mut().enumerate() {
            *way = way.map(|(place, weight)| (place, weight * beginning(state, class)));
        }
        forms.next.push(first);
        forms.worth.push(1.0);
    }
    while let Some(begun) = queue.get(forms.next.len() - BETWEEN_STATES).copied() {
        forms.next.push(row(begun, &mut queue));
        forms.worth.push(begun.sign_weight() + begun.other_weight());
    }
    forms
});

/// Masses by class said last; the cell of the blank is 'blank since'.
type ClassMasses = [f64; CLASSES];

/// Masses of a state between signs.
#[derive(Debug, Clone, Copy)]
pub(crate) struct StateMasses {
    /// By class said last.
    pub(crate) classes: ClassMasses,
    /// Their sum.
    pub(crate) all: f64,
}

impl StateMasses {
    /// No mass at all.
    pub(crate) const NONE: Self = Self {
        classes: [0.0; CLASSES],
        all: 0.0,
    };

    /// Adds mass to a class.
    pub(crate) fn add(&mut self, class: usize, mass: f64) {
        self.classes[class] += mass;
        self.all += mass;
    }
}

/// The same between signs, by state.
pub(crate) type BetweenMasses = [StateMasses; BETWEEN_STATES];

/// What came before and what may come after every moment of a stretch.
pub(crate) struct ReadingMasses {
    /// Mass between signs after so many steps.
    pub(crate) before: Vec<BetweenMasses>,
    /// Mass of all that may follow so many steps at the end of a sign, by the class just said.
    pub(crate) after: Vec<ClassMasses>,
    /// What each step's masses were divided by.
    pub(crate) scale: Vec<f64>,
    /// The classes that may have been said in each step.
    pub(crate) said: Vec<Vec<usize>>,
}

/// Sums up every reading of `rows`, so that all of them together have mass one.
pub(crate) fn sum(rows: &[ClassRow]) -> ReadingMasses {
    let said: Vec<Vec<usize>> = rows.iter().map(summed).collect();
    let (before, scale) = forward(rows, &said);
    let after = backward(rows, &said, &scale);
    ReadingMasses {
        said,
        before,
        after,
        scale,
    }
}

/// The classes that may have been said in a step.
fn summed(row: &ClassRow) -> Vec<usize> {
    let possible = |class: &usize| row[*class] > LEAST_SUMMED_PROBABILITY;
    (1..CLASSES).filter(possible).collect()
}

/// Mass between signs: nothing begun, or something that may be whole.
fn between(masses: &[ClassMasses]) -> BetweenMasses {
    let mut out = [StateMasses::NONE; BETWEEN_STATES];
    let places = masses.iter().zip(&FORM_AUTOMATON.worth).enumerate();
    for (place, (form, worth)) in places.filter(|(_, (_, worth))| **worth > 0.0) {
        let state = if place < BETWEEN_STATES {
            place
        } else {
            AFTER_OTHER
        };
        for (sum, mass) in out[state].classes.iter_mut().zip(form) {
            *sum += mass * worth;
        }
    }
    for state in &mut out {
        state.all = state.classes.iter().sum();
    }
    out
}

fn forward(rows: &[ClassRow], said: &[Vec<usize>]) -> (Vec<BetweenMasses>, Vec<f64>) {
    let forms = &*FORM_AUTOMATON;
    let mut masses: Vec<ClassMasses> = vec![[0.0; CLASSES]; forms.worth.len()];
    masses[AFTER_OTHER][BLANK_CLASS] = 1.0;
    let (mut out, mut scale) = (vec![between(&masses)], Vec::with_capacity(rows.len()));
    for (row, said) in rows.iter().zip(said) {
        let p = row.map(f64::from);
        let mut next: Vec<ClassMasses> = vec![[0.0; CLASSES]; forms.worth.len()];
        let move_on = |from: usize, old: &ClassMasses, all: f64, next: &mut [ClassMasses]| {
            for &class in said {
                if let Some((longer, weight)) = forms.next[from][class] {
                    next[usize::from(longer)][class] += (all - old[class]) * p[class] * weight;
                }
            }
        };
        for (place, old) in masses.iter().enumerate() {
            let all: f64 = old.iter().sum();
            if all <= 0.0 {
                continue;
            }
            next[place][BLANK_CLASS] += all * p[BLANK_CLASS];
            for &class in said {
                next[place][class] += old[class] * p[class];
            }
            if place >= BETWEEN_STATES {
                move_on(place, old, all, &mut next);
            }
        }
        let free = out.last().into_iter().flatten().enumerate();
        for (state, free) in free.filter(|(_, free)| free.all > 0.0) {
            for &class in said {
                let (target, weight) = stray(state, class);
                next[target][class] += (free.all - free.classes[class]) * p[class] * weight;
            }
            move_on(state, &free.classes, free.all, &mut next);
        }
        let total: f64 = next.iter().flatten().sum::<f64>().max(f64::MIN_POSITIVE);
        next.iter_mut().flatten().for_each(|m| *m /= total);
        out.push(between(&next));
        scale.push(total);
        masses = next;
    }
    let whole: f64 = out
        .last()
        .map_or(1.0, |last| last.iter().map(|state| state.all).sum());
    if let Some(last) = scale.last_mut() {
        *last *= whole.max(f64::MIN_POSITIVE);
    }
    (out, scale)
}

fn backward(rows: &[ClassRow], said: &[Vec<usize>], scale: &[f64]) -> Vec<ClassMasses> {
    let forms = &*FORM_AUTOMATON;
    let mut values: Vec<ClassMasses> = forms.worth.iter().map(|w| [*w; CLASSES]).collect();
    let mut out = vec![[1.0; CLASSES]; rows.len() + 1];
    for (step, row) in rows.iter().enumerate().rev() {
        let p = row.map(|x| f64::from(x) / scale[step]);
        let said = &said[step];
        let longer = |place: usize, class: usize| {
            let way = forms.next[place][class];
            way.map_or(0.0, |(longer, weight)| {
                p[class] * weight * values[usize::from(longer)][class]
            })
        };
        // What a class is worth that comes between signs.
        let mut open = [[0.0; CLASSES]; BETWEEN_STATES];
        for (state, open) in open.iter_mut().enumerate() {
            for &class in said {
                let (target, weight) = stray(state, class);
                open[class] = p[class] * weight * values[target][class] + longer(state, class);
            }
        }
        let mut earlier: Vec<ClassMasses> = vec![[0.0; CLASSES]; values.len()];
        for (place, cells) in earlier.iter_mut().enumerate() {
            let worth = forms.worth[place];
            let mut fresh = match open.get(place) {
                Some(open) => *open,
                None => open[AFTER_OTHER].map(|x| x * worth),
            };
            for &class in said.iter().filter(|_| place >= BETWEEN_STATES) {
                fresh[class] += longer(place, class);
            }
            let all = fresh.iter().sum::<f64>() + p[BLANK_CLASS] * values[place][BLANK_CLASS];
            *cells = [all; CLASSES];
            for &class in said {
                cells[class] += p[class] * values[place][class] - fresh[class];
            }
        }
        values = earlier;
        out[step] = values[AFTER_OTHER];
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exhaustive;
    use crate::fold::{WORD_CLASS, class_of};

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
