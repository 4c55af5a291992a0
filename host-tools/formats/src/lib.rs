//! Open log formats: ADIF, CSV, GPX and Broadcast Wave metadata.
//!
//! Readers never fail and never panic: they return what they understood, and a complaint
//! with its line for the rest. What is written here reads back unchanged.
#![forbid(unsafe_code)]

pub mod adif;
pub mod bwf;
pub mod gpx;
mod reading;
pub mod table_csv;
mod xml;

pub use reading::{LogFileReading, ReadComplaint, ReadComplaints, ReadContact};
pub use xml::escape as escape_xml;
