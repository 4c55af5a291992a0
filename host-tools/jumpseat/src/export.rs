//! Exports confirmed contacts, and the sound of trips, in open formats.

mod clip_page;
mod clips;
mod contacts;
mod report;
mod segments;
mod selection;
mod software;
mod staging;
mod tracks;

pub(crate) use contacts::{export, write_export};
pub(crate) use segments::export_segments;
pub(crate) use selection::{ExportFormat, ExportScope, ExportSelection};
