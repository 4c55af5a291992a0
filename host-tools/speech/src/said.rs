//! Masses of a step by the class said last: only the few classes that may have been said in the
//! step have any.

use crate::ctc::ClassRow;
use crate::fold::CLASSES;

/// Classes less probable than this add nothing to the sums.
const LEAST_SUMMED_PROBABILITY: f32 = 1e-5;
/// The class was not said.
const NOT_SAID: u8 = u8::MAX;

/// The classes that may have been said in a step.
pub(crate) struct SaidClasses {
    /// In order; no blank.
    pub(crate) classes: Vec<usize>,
    /// Where each class is among them.
    places: [u8; CLASSES],
}

impl SaidClasses {
    /// None.
    pub(crate) const NONE: Self = Self {
        classes: Vec::new(),
        places: [NOT_SAID; CLASSES],
    };

    /// Those that are probable enough.
    pub(crate) fn of_row(row: &ClassRow) -> Self {
        let mut out = Self::NONE;
        for class in (1..CLASSES).filter(|class| row[*class] > LEAST_SUMMED_PROBABILITY) {
            out.places[class] = out.classes.len() as u8;
            out.classes.push(class);
        }
        out
    }

    /// The one of `list`, one for each of them, that belongs to the class.
    pub(crate) fn of<'a, T>(&self, list: &'a [T], class: usize) -> Option<&'a T> {
        list.get(usize::from(self.places[class]))
    }
}

/// Masses of `N` places of a grammar.
#[derive(Debug, Clone)]
pub(crate) struct SaidMasses<const N: usize> {
    /// Whatever was said last.
    pub(crate) all: [f64; N],
    /// Without a blank since, by class said last, in the order of `SaidClasses`.
    pub(crate) said: Vec<[f64; N]>,
}

impl<const N: usize> SaidMasses<N> {
    /// No mass at all.
    pub(crate) const NONE: Self = Self {
        all: [0.0; N],
        said: Vec::new(),
    };

    /// Those in which the class was said last, without a blank since; `said` is what was
    /// said in their step.
    pub(crate) fn last(&self, said: &SaidClasses, class: usize) -> &[f64; N] {
        said.of(&self.said, class).unwrap_or(&[0.0; N])
    }

    /// No mass, and room for the classes `said`.
    pub(crate) fn clear(&mut self, said: &SaidClasses) {
        self.all = [0.0; N];
        self.said.clear();
        self.said.resize(said.classes.len(), [0.0; N]);
    }
}
