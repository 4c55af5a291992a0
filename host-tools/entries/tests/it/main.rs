//! Entries as the logbook and the review page have them.

mod effective;
mod samples;
mod split;
mod transcript;
