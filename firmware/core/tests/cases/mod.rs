//! What the state machines must do, as tables. Without std: a microcontroller runs
//! the same (see `firmware/microcontroller`).

mod debounce;
mod mark;
mod power;
mod segments;

/// Runs all; the number of cases. Panics at the first that fails.
pub(crate) fn all() -> usize {
    debounce::all() + mark::all() + power::all() + segments::all()
}
