//! Finds the trips of a source and lists their files.

mod files;
mod heads;
mod trips;

pub(crate) use trips::{SourceTrips, find_trips};
