//! The states of the lattice, each kept once for a stretch and known by its number.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};
use std::sync::LazyLock;

use crate::between::{AFTER_OTHER, BETWEEN_STATES};
use crate::fold::{BLANK_CLASS, CLASSES};
use crate::form_automaton::{FORM_AUTOMATON, NO_FORM};
use crate::sign_shape::PartialSign;

/// The number of a state.
pub(crate) type StateNumber = u32;

/// The state at the beginning: between signs, nothing said.
pub(crate) const BEGINNING: StateNumber = (AFTER_OTHER * CLASSES + BLANK_CLASS) as StateNumber;
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
    /// Its place in `FORM_AUTOMATON`; `NO_FORM` between signs.
    pub(crate) form: u8,
    /// The class said last, `BLANK_CLASS` at first.
    pub(crate) last: usize,
    /// The state between signs (`between`) that something else is said in after it.
    pub(crate) between: usize,
    /// What an unfinished sign is worth as a whole, a sign or another; 1 between signs.
    pub(crate) worth: f64,
    /// How much of that it is worth as a sign, 0 to 1.
    pub(crate) sign_share: f64,
    /// About the most that it may come to weigh; 1 between signs.
    pub(crate) promise: f64,
    /// Where its continuations stand, if they were looked for.
    longer: Option<u32>,
}

impl LatticeState {
    fn between_signs(state: usize, class: usize) -> Self {
        Self {
            begun: PartialSign::default(),
            form: NO_FORM,
            last: class,
            between: state,
            worth: 1.0,
            sign_share: 0.0,
            promise: 1.0,
            longer: None,
        }
    }

    fn within_sign(begun: PartialSign, form: u8, class: usize) -> Self {
        let (forms, place) = (&*FORM_AUTOMATON, usize::from(form));
        let worth = forms.worth[place];
        Self {
            begun,
            form,
            last: class,
            between: AFTER_OTHER,
            worth,
            sign_share: begun.form().sign_weight() / worth.max(f64::MIN_POSITIVE),
            promise: forms.promise[place],
            longer: None,
        }
    }
}

/// A hash of a few numbers: nobody chooses them, and they are hashed too often for a better one.
#[derive(Default)]
struct StateHasher(u64);

/// An odd number without a pattern: the golden ratio, as of Fibonacci hashing (Knuth, TAOCP 3, 6.4).
const GOLDEN_RATIO: u64 = 0x9e37_79b9_7f4a_7c15;

impl Hasher for StateHasher {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.write_u64(u64::from(*byte));
        }
    }

    fn write_u64(&mut self, number: u64) {
        // The upper bits depend on all of them, and the table looks at the lower ones too.
        self.0 = (self.0.rotate_left(26) ^ number).wrapping_mul(GOLDEN_RATIO);
        self.0 ^= self.0 >> 32;
    }
}

/// All states that a stretch has come to so far.
pub(crate) struct LatticeStates {
    states: Vec<LatticeState>,
    /// The states of signs with more than one symbol, which may be come to on several ways,
    /// by the sign and the class said last.
    known: HashMap<(u64, u64), StateNumber, BuildHasherDefault<StateHasher>>,
    /// Those that follow a state, by class.
    longer: Vec<[StateNumber; CLASSES]>,
}

/// What every stretch has: all states between signs, by state and class, and those of one symbol.
static FIRST_STATES: LazyLock<Vec<LatticeState>> = LazyLock::new(|| {
    let all_between = |state| {
        let of_class = move |class| LatticeState::between_signs(state, class);
        (0..CLASSES).map(of_class)
    };
    let mut states: Vec<LatticeState> = (0..BETWEEN_STATES).flat_map(all_between).collect();
    for (class, of_class) in FORM_AUTOMATON.classes.iter().enumerate() {
        let begun = PartialSign::default().with(class).zip(of_class.begun);
        states.push(match begun {
            Some(((begun, _), form)) => LatticeState::within_sign(begun, form, class),
            // Nothing begins with a word; its state is never come to.
            None => LatticeState::between_signs(AFTER_OTHER, class),
        });
    }
    states
});

impl LatticeStates {
    /// Those that every stretch has.
    pub(crate) fn new() -> Self {
        Self {
            states: FIRST_STATES.clone(),
            known: HashMap::default(),
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
        let from = self.states[from as usize];
        let (begun, _) = from.begun.with(class)?;
        let new = self.states.len() as StateNumber;
        let (symbols, tens) = begun.key();
        let key = (symbols, (class as u64) << 1 | u64::from(tens));
        let number = *self.known.entry(key).or_insert(new);
        if number == new {
            let form = FORM_AUTOMATON.next[usize::from(from.form)][class];
            self.states
                .push(LatticeState::within_sign(begun, form, class));
        }
        Some(number)
    }
}
