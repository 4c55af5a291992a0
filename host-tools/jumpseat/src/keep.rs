//! Makes room on the disk: of trips that are old enough, the sound of confirmed contacts is
//! packed without loss, and the other sound is removed.
//!
//! A trip is changed only when its date is known, it was drafted, something of it is
//! confirmed and nothing of it is undecided.

mod pack;
mod plan;
mod release;
#[cfg(test)]
mod tests;

pub(crate) use plan::{KeepDecision, KeepPlan, age_limit, make_plans};
pub(crate) use release::release_sound;
