//! Cuts the overs of a drive into the pieces that contacts are made of, in two ways.
//!
//! [`events`] are transmissions and stretches of received speech in order of time, with
//! what was heard in each: the model parts a row of them into contacts and the rest.
//! [`turns`] are transmissions, each with the speech that came back before the next: they
//! tell whether a call was answered, what ends a call that was marked, and where the dial
//! stood. What counts as a transmission, and which setting it was made on, is the same for
//! both (`transmission`).

mod event;
mod transmission;
mod turn;

pub(crate) use event::{DriveEvent, events};
pub(crate) use turn::{TransmissionTurn, first_setting, turns};
