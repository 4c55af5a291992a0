//! Simulates drives whose truth is known, scores drafts against that truth, and fits the
//! draft's model to it.
//!
//! A [`scenario::DriveScenario`] says what happens on a drive; [`plan::DrivePlan`] gives
//! every over its time from the length of its words, spoken by [`synthesis`]; [`script`] writes
//! the sound, the key edges, the receiver's sentences and the dial changes; and
//! [`truth`] writes what a perfect log of that drive would hold. Everything
//! follows from the scenario and its seed: the same seed gives the same bytes,
//! as long as the voice program is the same.
#![forbid(unsafe_code)]

pub mod command;
mod copy_folder;
pub mod gps;
pub mod pack;
pub mod plan;
pub mod progress;
pub mod random;
pub mod scenario;
pub mod score;
pub mod script;
pub mod sound;
pub mod synthesis;
pub mod trip_recording;
pub mod truth;
pub mod written;
