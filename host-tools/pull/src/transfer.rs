//! Copies one trip into the library and verifies it.

mod append_only;
mod fetch;
mod file_plan;
mod manifest;
mod running;
mod trip_transfer;

pub(crate) use running::may_be_running;
pub(crate) use trip_transfer::{TransferOptions, transfer_trip};
