//! What is said between signs, and what that is worth: words cost nothing, letters and figures
//! that belong to no sign cost something.
//!
//! Figures come in runs (reports, numbers, frequencies): one after another costs little, and
//! seldom begins a sign. After a word that announces a locator or a number, letters and
//! figures cost little and hardly begin a sign. The weights are our own.

use std::sync::LazyLock;

use crate::fold::{ANNOUNCING_CLASS, CLASSES, WORD_CLASS, composed, symbol_of};

/// States between signs.
pub(crate) const BETWEEN_STATES: usize = 9;
/// The state at the beginning, after a sign and after a word.
pub(crate) const AFTER_OTHER: usize = 0;
/// After a figure.
const AFTER_FIGURE: usize = 1;
/// After a word that announces, and after one more word ('is').
const ANNOUNCED: usize = 2;
const ANNOUNCED_BEFORE_WORD: usize = 3;
/// After the first letter or figure of what was announced, and after the last but one that
/// still cost little.
const ANNOUNCED_FIRST: usize = 4;
const ANNOUNCED_LAST: usize = 8;
/// After so many letters and figures what was announced may be complete.
const ANNOUNCED_WHOLE: usize = 7;

/// The weight of each letter or figure that belongs to no sign.
const STRAY_SYMBOL_WEIGHT: f64 = 0.06;
/// The same of a figure after another, and of what was announced.
const FURTHER_FIGURE_WEIGHT: f64 = 0.5;
const ANNOUNCED_SYMBOL_WEIGHT: f64 = 0.5;
/// How much less a figure after a figure begins a sign, and what was announced.
const SIGN_AFTER_FIGURE_WEIGHT: f64 = 0.3;
const SIGN_AFTER_ANNOUNCEMENT_WEIGHT: f64 = 0.01;

/// What may come between signs, of one class.
pub(crate) struct ClassBetween {
    /// From each state, the state after the class as one that belongs to no sign, and the
    /// weight of that.
    pub(crate) stray: [(usize, f64); BETWEEN_STATES],
    /// From each state, the weight of beginning a sign with the class.
    pub(crate) beginning: [f64; BETWEEN_STATES],
}

static OF_CLASS: LazyLock<[ClassBetween; CLASSES]> = LazyLock::new(|| {
    std::array::from_fn(|class| ClassBetween {
        stray: std::array::from_fn(|state| weighed(state, class)),
        beginning: std::array::from_fn(|state| begun(state, class)),
    })
});

/// What may come between signs, by class.
pub(crate) fn of_class() -> &'static [ClassBetween; CLASSES] {
    &OF_CLASS
}

fn weighed(state: usize, class: usize) -> (usize, f64) {
    let Some(symbol) = symbol_of(class) else {
        let next = match (state, class) {
            (_, ANNOUNCING_CLASS) => ANNOUNCED,
            (ANNOUNCED, WORD_CLASS) => ANNOUNCED_BEFORE_WORD,
            _ if is_number(class) => AFTER_FIGURE,
            _ => AFTER_OTHER,
        };
        return (next, 1.0);
    };
    let plain = if symbol.is_ascii_digit() {
        AFTER_FIGURE
    } else {
        AFTER_OTHER
    };
    match state {
        // A number has no letters: what comes after it is something else.
        ANNOUNCED | ANNOUNCED_BEFORE_WORD if plain == AFTER_FIGURE => {
            (plain, ANNOUNCED_SYMBOL_WEIGHT)
        }
        ANNOUNCED | ANNOUNCED_BEFORE_WORD => (ANNOUNCED_FIRST, ANNOUNCED_SYMBOL_WEIGHT),
        ANNOUNCED_FIRST..ANNOUNCED_LAST => (state + 1, ANNOUNCED_SYMBOL_WEIGHT),
        ANNOUNCED_LAST => (plain, ANNOUNCED_SYMBOL_WEIGHT),
        AFTER_FIGURE if plain == AFTER_FIGURE => (plain, FURTHER_FIGURE_WEIGHT),
        _ => (plain, STRAY_SYMBOL_WEIGHT),
    }
}

/// The weight of beginning a sign with a class.
fn begun(state: usize, class: usize) -> f64 {
    let figure = symbol_of(class).is_some_and(|symbol| symbol.is_ascii_digit());
    match state {
        AFTER_FIGURE if figure => SIGN_AFTER_FIGURE_WEIGHT,
        ANNOUNCED..ANNOUNCED_WHOLE => SIGN_AFTER_ANNOUNCEMENT_WEIGHT,
        _ => 1.0,
    }
}

/// Whether a class is a number word.
fn is_number(class: usize) -> bool {
    composed(class).is_some_and(|text| text.starts_with(|c: char| c.is_ascii_digit()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fold::class_of;

    /// What `text` is worth between signs: `!` announces, a space is another word.
    #[track_caller]
    fn check(text: &str, wanted: f64, begins: f64) {
        let class = |c: char| match c {
            '!' => ANNOUNCING_CLASS,
            c => class_of(c),
        };
        let whole = text.chars().fold((AFTER_OTHER, 1.0), |(state, weight), c| {
            let (next, step) = of_class()[class(c)].stray[state];
            (next, weight * step)
        });
        assert!((whole.1 - wanted).abs() < 1e-12, "{text}: {}", whole.1);
        assert_eq!(
            of_class()[class_of('9')].beginning[whole.0],
            begins,
            "{text}"
        );
    }

    #[test]
    fn figures_in_a_row_and_what_was_announced_cost_little() {
        let stray = STRAY_SYMBOL_WEIGHT;
        check("", 1.0, 1.0);
        check("A", stray, 1.0);
        check("59", stray * 0.5, 0.3);
        check("59 9", stray * 0.5 * stray, 0.3);
        check("!JN58", 0.5_f64.powi(4), 1.0);
        check("! JN5", 0.5_f64.powi(3), 0.01);
        check("!  J", stray, 1.0);
        check("! 12", 0.25, 0.3);
        check("!JN58TDA", 0.5_f64.powi(6) * stray, 1.0);
    }
}
