//! The states of the lattice, each kept once for a stretch and known by its number.

use std::collections::HashMap;
use std::sync::LazyLock;

use crate::between::{AFTER_OTHER, BETWEEN_STATES};
use crate::fold::{BLANK_CLASS, CLASSES};
use crate::sign_shape::PartialSign;

/// The number of a state.
pub(crate) type StateNumber = u32;

/// The state at the beginning: between signs, nothing said.
pub(crate) const BEGINNING: StateNumber = (AFTER_OTHER * CLASSES + BLANK_CLASS) as StateNumber;
/// The most that `LatticeState::promise` is.
pub(crate) const MOST_PROMISE: f64 = 1.2;

/// The first state of a sign that has one symbol.
const FIRST_SYMBOLS: usize = BETWEEN_STATES * CLASSES;
/// No state, or one that was not looked for.
const NO_STATE: StateNumber = StateNumber::MAX;
const UNKNOWN: StateNumber = StateNumber::MAX - 1;

/// The part of the past that the future depends on, but for blanks.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LatticeState {
    /// The unfinished sign; empty between signs.
    pub(crate) begun: PartialSign,
    /// The class said last, `BLANK_CLASS` at first.
    pub(crate) last: usize,
    /// The state between signs (`between`) that something else is said in after it.
    pub(crate) between: usize,
    /// What an unfinished sign is worth as a whole, a sign or another; 1 between signs.
    pub(crate) worth: f64,
    /// How much of that it is worth as a sign, 0 to 1.
    pub(crate) sign_share: f64,
    /// About the most that it may come to weigh: a rare form, or a beginning of one, pays only
    /// when it is whole, and is looked at as if it had paid.
    pub(crate) promise: f64,
    /// Where its continuations stand, if they were looked for.
    longer: Option<u32>,
}

impl LatticeState {
    fn new(begun: PartialSign, between: usize, last: usize) -> Self {
        let form = begun.form();
        let (worth, promise) = match begun.is_empty() {
            true => (1.0, 1.0),
            false => (form.sign_weight() + form.other_weight(), form.promise()),
        };
        Self {
            begun,
            last,
            between,
            worth,
            sign_share: form.sign_weight() / worth.max(f64::MIN_POSITIVE),
            promise,
            longer: None,
        }
    }
}

/// All states that a stretch has come to so far.
pub(crate) struct LatticeStates {
    states: Vec<LatticeState>,
    /// The states of signs with more than one symbol, which may be come to on several ways.
    known: HashMap<(PartialSign, usize), StateNumber>,
    /// Those that follow a state, by class.
    longer: Vec<[StateNumber; CLASSES]>,
}

/// What every stretch has: all states between signs, by state and class, and those of one symbol.
static FIRST_STATES: LazyLock<Vec<LatticeState>> = LazyLock::new(|| {
    let nothing = PartialSign::default();
    let between = |state| (0..CLASSES).map(move |class| LatticeState::new(nothing, state, class));
    let mut states: Vec<LatticeState> = (0..BETWEEN_STATES).flat_map(between).collect();
    states.extend((0..CLASSES).map(|class| {
        // Nothing begins with a word; its state is never come to.
        let begun = nothing.with(class).map_or(nothing, |(begun, _)| begun);
        LatticeState::new(begun, AFTER_OTHER, class)
    }));
    states
});

impl LatticeStates {
    /// Those that every stretch has.
    pub(crate) fn new() -> Self {
        Self {
            states: FIRST_STATES.clone(),
            known: HashMap::new(),
            longer: Vec::new(),
        }
    }

    /// How many there are.
    pub(crate) fn len(&self) -> usize {
        self.states.len()
    }

    /// The state of a number.
    pub(crate) fn get(&self, number: StateNumber) -> &LatticeState {
        &self.states[number as usize]
    }

    /// The state between signs in which `class` was said last.
    pub(crate) fn between(state: usize, class: usize) -> StateNumber {
        (state * CLASSES + class) as StateNumber
    }

    /// The state of a sign whose first symbol is `class`; nothing if none begins so.
    pub(crate) fn begun(&self, class: usize) -> Option<StateNumber> {
        let number = FIRST_SYMBOLS + class;
        (!self.states[number].begun.is_empty()).then_some(number as StateNumber)
    }

    /// The state of the same sign with a class more; nothing if no form goes on so.
    pub(crate) fn longer(&mut self, from: StateNumber, class: usize) -> Option<StateNumber> {
        let row = match self.states[from as usize].longer {
            Some(row) => row as usize,
            None => {
                self.longer.push([UNKNOWN; CLASSES]);
                self.states[from as usize].longer = Some(self.longer.len() as u32 - 1);
                self.longer.len() - 1
            }
        };
        if self.longer[row][class] == UNKNOWN {
            self.longer[row][class] = self.found(from, class).unwrap_or(NO_STATE);
        }
        Some(self.longer[row][class]).filter(|number| *number != NO_STATE)
    }

    fn found(&mut self, from: StateNumber, class: usize) -> Option<StateNumber> {
        let (begun, _) = self.states[from as usize].begun.with(class)?;
        let new = self.states.len() as StateNumber;
        let number = *self.known.entry((begun, class)).or_insert(new);
        if number == new {
            let state = LatticeState::new(begun, AFTER_OTHER, class);
            self.states.push(state);
        }
        Some(number)
    }
}
