//! What the state machines must do, as tables. No std, because a microcontroller runs the
//! same cases (see `firmware/microcontroller`).

mod debounce;
mod mark;
mod power;
mod segments;

/// Runs all cases and returns their number. Panics at the first that fails.
pub(crate) fn all() -> usize {
    debounce::all() + mark::all() + power::all() + segments::all()
}
