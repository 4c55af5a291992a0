//! The pages. Every text goes through the template, which escapes it.

mod assets;
mod edit;
mod entry;
mod entry_page;
mod export;
mod history;
mod layout;
mod map;
mod strip;
mod time_line;
mod totals;
mod trip;
mod trips;
mod wording;

pub(crate) use assets::asset;
pub(crate) use entry::entry;
pub(crate) use entry_page::EntryPage;
pub(crate) use export::{export, exported};
pub(crate) use history::history;
pub(crate) use layout::{enter, trip_path, trouble};
pub(crate) use trip::trip;
pub(crate) use trips::{TripListLine, trips};
