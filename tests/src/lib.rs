//! The drive simulator and its scorer, and what the end-to-end tests share.
//!
//! A [`scenario::Scenario`] says what happens on a drive; [`plan::Plan`] gives
//! every over its time from the length of its spoken words; [`script`] writes
//! the sound, the key edges, the receiver's sentences and the dial changes; and
//! [`truth`] writes what a perfect log of that drive would hold. Everything
//! follows from the scenario and its seed: the same seed gives the same bytes,
//! as long as the voice program is the same.

pub mod board;
pub mod command;
pub mod gps;
pub mod journal_file;
pub mod live;
pub mod long_trip;
pub mod marker;
pub mod pack;
pub mod parts;
pub mod plan;
pub mod player;
pub mod random;
pub mod scenario;
pub mod score;
pub mod screens;
pub mod script;
pub mod sound;
pub mod stage;
pub mod through_recorder;
pub mod told;
pub mod tools;
pub mod truth;
