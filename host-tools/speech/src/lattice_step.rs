//! One step of the lattice: from every state that is carried to all that may come next.
//!
//! What is said between signs depends only on the state between them, so its mass is added up
//! before it moves on; only an unfinished sign moves on from each state of its own.

use crate::between::{self, BETWEEN_STATES};
use crate::ctc::ClassRow;
use crate::fold::{BLANK_CLASS, CLASSES};
use crate::form_automaton::{FORM_AUTOMATON, NO_FORM};
use crate::lattice_state::{BEGINNING, LatticeStates, StateNumber};
use crate::sign_shape::class_weight;

/// States that are carried from step to step.
const BEAM_STATES: usize = 320;
/// States of less than this share of the best are dropped.
const BEAM_LEAST_SHARE: f64 = 1e-6;
/// A way on with less than this share of what a state needs to be carried is not walked: the
/// readings of a state have a handful of ways to it at most.
const LEAST_WAY_SHARE: f64 = 1.0 / 32.0;
/// Classes less probable than this are not tried in a step.
const LEAST_CLASS_PROBABILITY: f32 = 2e-5;

/// A state at a step.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LatticeCell {
    pub(crate) state: StateNumber,
    /// Whether there was a blank since.
    pub(crate) rested: bool,
    /// Steps in which the unfinished sign began, and in which its last symbol came, on the
    /// best way here; counted from 1.
    pub(crate) from: u32,
    pub(crate) to: u32,
    /// Mass of all ways here; those of a step add up to one.
    pub(crate) mass: f64,
    /// Mass of the best of them.
    best: f64,
}

impl LatticeCell {
    /// The cell at the beginning.
    pub(crate) fn first() -> Self {
        Self {
            state: BEGINNING,
            rested: true,
            from: 0,
            to: 0,
            mass: 1.0,
            best: 1.0,
        }
    }
}

/// A way on with a sign, from a cell of one step to a cell of the next.
pub(crate) struct LongerWay {
    pub(crate) source: u32,
    pub(crate) target: u32,
    pub(crate) weight: f64,
}

/// A way on from all cells in a state between signs, or with a whole sign.
pub(crate) struct OpenWay {
    pub(crate) between: usize,
    /// What is said; not after the same without a blank.
    pub(crate) class: usize,
    pub(crate) target: u32,
    pub(crate) weight: f64,
}

/// All ways from the cells of one step to those of the next. A target that is dropped is
/// the one after the last.
#[derive(Default)]
pub(crate) struct LatticeWays {
    /// Targets of each cell with a blank, and with the same class held.
    pub(crate) held: Vec<[u32; 2]>,
    pub(crate) open: Vec<OpenWay>,
    pub(crate) longer: Vec<LongerWay>,
    /// What all weights are to be divided by.
    pub(crate) total: f64,
}

/// Mass in a state between signs.
#[derive(Clone, Copy)]
struct OpenMass {
    all: f64,
    /// That of cells without a blank since, by class said last.
    unrested: [f64; CLASSES],
    /// The most mass of a cell, its class, and the most of one with another class.
    best: f64,
    best_last: usize,
    other: f64,
}

impl OpenMass {
    const NONE: Self = Self {
        all: 0.0,
        unrested: [0.0; CLASSES],
        best: 0.0,
        best_last: BLANK_CLASS,
        other: 0.0,
    };

    /// Adds that of a cell; `last` is the blank if there was one since.
    fn add(&mut self, last: usize, mass: f64) {
        self.all += mass;
        self.unrested[last] += mass;
        if last == self.best_last {
            self.best = self.best.max(mass);
        } else if mass > self.best {
            (self.other, self.best, self.best_last) = (self.best, mass, last);
        } else {
            self.other = self.other.max(mass);
        }
    }

    /// All mass that goes on with `class`, and the most of one cell.
    fn before(&self, class: usize) -> (f64, f64) {
        let most = match class == self.best_last {
            true => self.other,
            false => self.best,
        };
        (self.all - self.unrested[class], most)
    }
}

/// Steps through a stretch.
pub(crate) struct LatticeWalk {
    pub(crate) states: LatticeStates,
    /// The cell of the next step that has a state, without a blank since and with one.
    places: Vec<[u32; 2]>,
}

/// No cell has the state yet.
const NO_PLACE: u32 = u32::MAX;

impl LatticeWalk {
    /// At the beginning.
    pub(crate) fn new() -> Self {
        Self {
            states: LatticeStates::new(),
            places: Vec::new(),
        }
    }

    /// One step on, the one with number `step` (from 1).
    pub(crate) fn advance(
        &mut self,
        column: &[LatticeCell],
        row: &ClassRow,
        step: u32,
    ) -> (Vec<LatticeCell>, LatticeWays) {
        let tried: Vec<usize> = (1..CLASSES)
            .filter(|c| row[*c] > LEAST_CLASS_PROBABILITY)
            .collect();
        let mut ways = LatticeWays::default();
        let mut next: Vec<LatticeCell> = Vec::with_capacity(3 * column.len());
        self.open(column, row, &tried, step, &mut next, &mut ways);
        self.hold(column, row, &mut next, &mut ways);
        self.go_on(column, row, &tried, step, &mut next, &mut ways);
        for cell in &next {
            self.places[cell.state as usize] = [NO_PLACE; 2];
        }
        let next = self.narrowed(next, &mut ways);
        (next, ways)
    }

    /// The place of a state in the next step.
    fn add(&mut self, next: &mut Vec<LatticeCell>, cell: LatticeCell) -> u32 {
        let (state, rested) = (cell.state as usize, usize::from(cell.rested));
        if state >= self.places.len() {
            self.places.resize(self.states.len(), [NO_PLACE; 2]);
        }
        let place = self.places[state][rested];
        if place == NO_PLACE {
            let place = next.len() as u32;
            self.places[state][rested] = place;
            next.push(cell);
            return place;
        }
        let target = &mut next[place as usize];
        target.mass += cell.mass;
        if cell.best >= target.best {
            (target.best, target.from, target.to) = (cell.best, cell.from, cell.to);
        }
        place
    }

    /// Between signs, or where the unfinished one is whole, anything may come.
    fn open(
        &mut self,
        column: &[LatticeCell],
        row: &ClassRow,
        tried: &[usize],
        step: u32,
        next: &mut Vec<LatticeCell>,
        ways: &mut LatticeWays,
    ) {
        let mut free = [OpenMass::NONE; BETWEEN_STATES];
        for cell in column {
            let state = self.states.get(cell.state);
            if state.worth > 0.0 {
                let last = if cell.rested { BLANK_CLASS } else { state.last };
                free[state.between].add(last, cell.mass * state.worth);
            }
        }
        for (between, free) in free.iter().enumerate().filter(|(_, free)| free.all > 0.0) {
            for &class in tried {
                let (mass, best) = free.before(class);
                let p = f64::from(row[class]);
                let of_class = &between::of_class()[class];
                let (after, weight) = of_class.stray[between];
                let stray = (LatticeStates::between(after, class), weight, 0);
                let begun = self.states.begun(class);
                let begun = begun.map(|state| (state, of_class.beginning[between], step));
                for (state, weight, at) in std::iter::once(stray).chain(begun) {
                    let weight = p * weight;
                    if mass * weight <= 0.0 {
                        continue;
                    }
                    let cell = LatticeCell {
                        state,
                        rested: false,
                        from: at,
                        to: at,
                        mass: mass * weight,
                        best: best * weight,
                    };
                    ways.open.push(OpenWay {
                        between,
                        class,
                        target: self.add(next, cell),
                        weight,
                    });
                }
            }
        }
    }

    /// A blank, or the same class held.
    fn hold(
        &mut self,
        column: &[LatticeCell],
        row: &ClassRow,
        next: &mut Vec<LatticeCell>,
        ways: &mut LatticeWays,
    ) {
        for old in column {
            let last = self.states.get(old.state).last;
            let mut go = |rested: bool, class: usize| {
                let mass = old.mass * f64::from(row[class]);
                let cell = LatticeCell {
                    rested,
                    mass,
                    best: mass,
                    ..*old
                };
                match mass > 0.0 {
                    true => self.add(next, cell),
                    false => NO_PLACE,
                }
            };
            let blank = go(true, BLANK_CLASS);
            let again = match old.rested {
                true => NO_PLACE,
                false => go(false, last),
            };
            ways.held.push([blank, again]);
        }
    }

    /// The unfinished signs with a symbol more.
    fn go_on(
        &mut self,
        column: &[LatticeCell],
        row: &ClassRow,
        tried: &[usize],
        step: u32,
        next: &mut Vec<LatticeCell>,
        ways: &mut LatticeWays,
    ) {
        let promises = next.iter().map(|cell| self.promise(cell));
        let mut top = promises.fold(0.0, f64::max);
        let forms = &*FORM_AUTOMATON;
        let weights: Vec<f64> = tried
            .iter()
            .map(|class| f64::from(row[*class]) * class_weight(*class))
            .collect();
        for (source, old) in column.iter().enumerate() {
            let state = self.states.get(old.state);
            if state.form == NO_FORM {
                continue;
            }
            let said = if old.rested { BLANK_CLASS } else { state.last };
            let forms_next = &forms.next[usize::from(state.form)];
            for (&class, &weight) in tried.iter().zip(&weights) {
                let mass = old.mass * weight;
                let promise = mass * forms.promise[usize::from(forms_next[class])];
                if class == said || promise <= top * (BEAM_LEAST_SHARE * LEAST_WAY_SHARE) {
                    continue;
                }
                let Some(longer) = self.states.longer(old.state, class) else {
                    continue;
                };
                // The best cells are first, so that most others are soon found to be too few.
                top = top.max(promise);
                let cell = LatticeCell {
                    state: longer,
                    rested: false,
                    from: old.from,
                    to: step,
                    mass,
                    best: mass,
                };
                ways.longer.push(LongerWay {
                    source: source as u32,
                    target: self.add(next, cell),
                    weight,
                });
            }
        }
    }

    fn promise(&self, cell: &LatticeCell) -> f64 {
        cell.mass * self.states.get(cell.state).promise
    }

    /// Keeps the best states, and scales their masses to add up to one.
    fn narrowed(&self, next: Vec<LatticeCell>, ways: &mut LatticeWays) -> Vec<LatticeCell> {
        let mut order: Vec<(f64, u32)> = next.iter().map(|c| self.promise(c)).zip(0..).collect();
        let top = order.iter().fold(0.0, |top, (p, _)| p.max(top));
        order.retain(|(promise, _)| *promise > top * BEAM_LEAST_SHARE);
        let best_first = |a: &(f64, u32), b: &(f64, u32)| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1));
        if order.len() > BEAM_STATES {
            order.select_nth_unstable_by(BEAM_STATES, best_first);
            order.truncate(BEAM_STATES);
        }
        order.sort_unstable_by(best_first);
        let mut moved = vec![order.len() as u32; next.len()];
        for ((_, old), new) in order.iter().zip(0..) {
            moved[*old as usize] = new;
        }
        let place = |old: u32| {
            moved
                .get(old as usize)
                .copied()
                .unwrap_or(order.len() as u32)
        };
        for targets in &mut ways.held {
            *targets = targets.map(place);
        }
        for way in &mut ways.open {
            way.target = place(way.target);
        }
        ways.longer.retain_mut(|way| {
            way.target = place(way.target);
            way.target != order.len() as u32
        });
        let mut kept: Vec<LatticeCell> = order.iter().map(|(_, k)| next[*k as usize]).collect();
        ways.total = kept
            .iter()
            .map(|c| c.mass)
            .sum::<f64>()
            .max(f64::MIN_POSITIVE);
        for cell in &mut kept {
            cell.mass /= ways.total;
        }
        kept
    }
}
