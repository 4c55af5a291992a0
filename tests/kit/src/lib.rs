//! What tests of several crates share: it starts our programs and others, waits for a
//! condition with a limit, finds free ports, copies and compares folders, runs the home
//! tool in a home of its own, and reads what programs print.
//!
//! The kit knows no crate of the product, so every crate's tests can use it.
#![forbid(unsafe_code)]

mod error;
mod folders;
mod home;
mod json_lines;
mod process;
mod programs;
mod reply;
mod waiting;

pub use error::PartError;
pub use folders::{contents, copy_folder, file_names, path_text};
pub use home::TestHome;
pub use json_lines::json_lines;
pub use process::{ProcessUsage, TestProcess};
pub use programs::{axe, built, demo_card, done, outside_script, run};
pub use reply::CommandReply;
pub use waiting::{free_port, wait_until};

/// The name of the demo drive's trip.
pub const DEMO_TRIP: &str = "trip-000001-3fa2c1";
