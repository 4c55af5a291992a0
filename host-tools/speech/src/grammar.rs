//! Sums the probability mass of all readings of a stretch, before each step and after it.
//!
//! The grammar is that of `lattice`, but summed over which letters and figures a sign has:
//! of an unfinished sign only its form is kept (`form_automaton`), so that no state has to be
//! dropped and the sums are exact.

use crate::between::{self, AFTER_OTHER, BETWEEN_STATES};
use crate::ctc::ClassRow;
use crate::fold::{BLANK_CLASS, CLASSES};
use crate::form_automaton::{FORM_AUTOMATON, FormAutomaton, PLACES};
use crate::said::{SaidClasses, SaidMasses};

/// Masses less than this share of all are none: sums of them would take far longer, because
/// numbers near the least that there is are slow.
const LEAST_MASS: f64 = 1e-200;

/// One figure by class.
type ClassMasses = [f64; CLASSES];
/// Masses of all places of the grammar.
type FormMasses = SaidMasses<PLACES>;
/// Masses between signs, by state.
pub(crate) type BetweenMasses = SaidMasses<BETWEEN_STATES>;

/// What came before and what may come after every moment of a stretch.
pub(crate) struct ReadingMasses {
    /// Mass between signs after so many steps.
    pub(crate) before: Vec<BetweenMasses>,
    /// Mass of all that may follow so many steps at the end of a sign, by the class just said.
    pub(crate) after: Vec<ClassMasses>,
    /// The probabilities of each step, divided so that all masses add up to one.
    pub(crate) scaled: Vec<ClassMasses>,
    /// The classes that may have been said in the last of so many steps.
    pub(crate) said: Vec<SaidClasses>,
}

/// Sums up every reading of `rows`, so that all of them together have mass one.
pub(crate) fn sum(rows: &[ClassRow]) -> ReadingMasses {
    let said = rows.iter().map(SaidClasses::of_row);
    let said: Vec<SaidClasses> = std::iter::once(SaidClasses::NONE).chain(said).collect();
    let (before, scale) = forward(rows, &said);
    let scaled = rows.iter().zip(&scale);
    let scaled: Vec<ClassMasses> = scaled
        .map(|(row, scale)| row.map(|p| f64::from(p) / scale))
        .collect();
    let after = backward(&scaled, &said);
    ReadingMasses {
        before,
        after,
        scaled,
        said,
    }
}

/// Mass between signs: nothing begun, or something that may be whole.
fn between(forms: &FormAutomaton, masses: &FormMasses) -> BetweenMasses {
    let free = |masses: &[f64; PLACES]| {
        let mut out: [f64; BETWEEN_STATES] = std::array::from_fn(|state| masses[state]);
        out[AFTER_OTHER] += dot(&masses[..forms.places], &forms.worth[..forms.places]);
        out
    };
    SaidMasses {
        all: free(&masses.all),
        said: masses.said.iter().map(free).collect(),
    }
}

/// The sum of the products; four sums side by side, which the processor adds at once.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let (a, a_rest) = a.as_chunks::<4>();
    let (b, b_rest) = b.as_chunks::<4>();
    let mut sums = [0.0; 4];
    for (a, b) in a.iter().zip(b) {
        for ((sum, a), b) in sums.iter_mut().zip(a).zip(b) {
            *sum += a * b;
        }
    }
    let rest = a_rest.iter().zip(b_rest).map(|(a, b)| a * b);
    sums.iter().sum::<f64>() + rest.sum::<f64>()
}

/// Masses between signs after so many steps, and what each step's masses were divided by.
fn forward(rows: &[ClassRow], said: &[SaidClasses]) -> (Vec<BetweenMasses>, Vec<f64>) {
    let forms = &*FORM_AUTOMATON;
    let (mut masses, mut next) = (FormMasses::NONE, FormMasses::NONE);
    masses.all[AFTER_OTHER] = 1.0;
    let mut free = between(forms, &masses);
    let (mut out, mut scale) = (Vec::with_capacity(said.len()), Vec::new());
    for (row, said) in rows.iter().zip(said.windows(2)) {
        let [earlier, now] = said else { continue };
        next.clear(now);
        let blank = f64::from(row[BLANK_CLASS]);
        for (sum, mass) in places(forms, &mut next.all).zip(&masses.all) {
            *sum = mass * blank;
        }
        for (&class, said) in now.classes.iter().zip(&mut next.said) {
            let (p, of_class) = (f64::from(row[class]), &forms.classes[class]);
            let held = masses.last(earlier, class);
            for (mass, held) in places(forms, said).zip(held) {
                *mass = held * p;
            }
            let weight = p * of_class.weight;
            for &(from, to) in &of_class.longer {
                let from = usize::from(from);
                said[usize::from(to)] += (masses.all[from] - held[from]) * weight;
            }
            let begin = of_class.begun;
            let of_class = &between::of_class()[class];
            let states = free.all.iter().zip(free.last(earlier, class));
            let mut begun = 0.0;
            for (state, (all, held)) in states.enumerate() {
                let fresh = (all - held) * p;
                let (target, weight) = of_class.stray[state];
                said[target] += fresh * weight;
                begun += fresh * of_class.beginning[state];
            }
            if let Some(to) = begin {
                said[usize::from(to)] += begun;
            }
            for (sum, mass) in places(forms, &mut next.all).zip(&*said) {
                *sum += mass;
            }
        }
        let total: f64 = next.all.iter().sum::<f64>().max(f64::MIN_POSITIVE);
        let scaled = |mass: &mut f64| {
            let share = *mass / total;
            *mass = if share < LEAST_MASS { 0.0 } else { share };
        };
        places(forms, &mut next.all).for_each(scaled);
        for said in &mut next.said {
            places(forms, said).for_each(scaled);
        }
        scale.push(total);
        std::mem::swap(&mut masses, &mut next);
        out.push(std::mem::replace(&mut free, between(forms, &masses)));
    }
    let whole: f64 = free.all.iter().sum();
    if let Some(last) = scale.last_mut() {
        *last *= whole.max(f64::MIN_POSITIVE);
    }
    out.push(free);
    (out, scale)
}

/// The figures of the places that there are.
fn places<'a>(
    forms: &FormAutomaton,
    all: &'a mut [f64; PLACES],
) -> impl Iterator<Item = &'a mut f64> {
    all[..forms.places].iter_mut()
}

/// Mass of all that may follow so many steps at the end of a sign, by the class just said.
fn backward(scaled: &[ClassMasses], said: &[SaidClasses]) -> Vec<ClassMasses> {
    let forms = &*FORM_AUTOMATON;
    let mut worth = forms.worth;
    worth[..BETWEEN_STATES].fill(1.0);
    // What each place is worth: its future, after a blank and after each class.
    let mut values = FormMasses {
        all: worth,
        said: said
            .last()
            .map_or(Vec::new(), |said| vec![worth; said.classes.len()]),
    };
    let mut earlier = FormMasses::NONE;
    let mut fresh: Vec<[f64; PLACES]> = Vec::new();
    let mut out = vec![[1.0; CLASSES]; said.len()];
    for (step, p) in scaled.iter().enumerate().rev() {
        let (before, now) = (&said[step], &said[step + 1]);
        earlier.clear(before);
        fresh.clear();
        fresh.resize(now.classes.len(), [0.0; PLACES]);
        for (sum, value) in places(forms, &mut earlier.all).zip(&values.all) {
            *sum = value * p[BLANK_CLASS];
        }
        for ((&class, values), fresh) in now.classes.iter().zip(&mut values.said).zip(&mut fresh) {
            let of_class = &forms.classes[class];
            // From here on, the class is said.
            places(forms, values).for_each(|value| *value *= p[class]);
            let begun = of_class.begun.map_or(0.0, |to| values[usize::from(to)]);
            let open = &between::of_class()[class];
            let open: [f64; BETWEEN_STATES] = std::array::from_fn(|state| {
                let (target, weight) = open.stray[state];
                weight * values[target] + open.beginning[state] * begun
            });
            for (fresh, worth) in places(forms, fresh).zip(&forms.worth) {
                *fresh = open[AFTER_OTHER] * worth;
            }
            fresh[..BETWEEN_STATES].copy_from_slice(&open);
            for &(from, to) in &of_class.longer {
                fresh[usize::from(from)] += of_class.weight * values[usize::from(to)];
            }
            for (sum, fresh) in places(forms, &mut earlier.all).zip(&*fresh) {
                *sum += fresh;
            }
        }
        for (&class, cells) in before.classes.iter().zip(&mut earlier.said) {
            let (held, fresh) = (values.last(now, class), now.of(&fresh, class));
            let cells = places(forms, cells).zip(&earlier.all).zip(held);
            match fresh {
                Some(fresh) => {
                    for (((cell, all), held), fresh) in cells.zip(fresh) {
                        *cell = all + held - fresh;
                    }
                }
                None => cells.for_each(|((cell, all), _)| *cell = *all),
            }
        }
        out[step] = [earlier.all[AFTER_OTHER]; CLASSES];
        for ((&class, held), fresh) in now.classes.iter().zip(&values.said).zip(&fresh) {
            out[step][class] += held[AFTER_OTHER] - fresh[AFTER_OTHER];
        }
        std::mem::swap(&mut values, &mut earlier);
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
            let first = rows.iter().zip(&all.scaled);
            let scale = |(row, p): (&ClassRow, &ClassMasses)| f64::from(row[0]) / p[0];
            let got: f64 = first.map(scale).product();
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
