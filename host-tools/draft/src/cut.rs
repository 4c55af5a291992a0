//! Cuts the overs of a drive into the pieces that contacts are made of, in two ways.
//!
//! [`events`] are transmissions and stretches of received speech in order of time, with
//! what was heard in each: the model divides the sequence of them into contacts and the rest.
//! [`turns`] are transmissions, each with the speech that came back before the next: they
//! show whether a call was answered, where a marked call ends, and where the dial stood.
//! What counts as a transmission, and which setting it was made on, is the same for both
//! (`transmission`).

mod event;
mod transmission;
mod turn;

pub(crate) use event::{DriveEvent, events};
pub(crate) use turn::{TransmissionTurn, first_setting, turns};
