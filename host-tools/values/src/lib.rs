//! The values that every crate at home shares.
//!
//! [`Estimate`] is the central one: a value that comes from judgement, with its
//! probability or uncertainty, what else it may be, where it comes from, and the
//! [`Doubt`]s that a person should know. [`display`] writes times, lengths, frequencies and
//! probabilities alike in every table, page and file. Pure: no I/O and no clock.
#![forbid(unsafe_code)]

mod dial_setting;
pub mod display;
mod doubt;
mod estimate;
mod evidence;
mod position;
mod rounded;
mod span;

pub use dial_setting::DialSetting;
pub use doubt::{
    AreaDoubt, AudioSide, CallSignDoubt, ClockOrder, DialDoubt, Doubt, DraftDoubt, EntryDoubt,
    PlaceDoubt, RecordingDoubt, SoundDoubt, StationDoubt, TimeDoubt,
};
pub use estimate::{Alternative, Estimate};
pub use evidence::Evidence;
pub use position::Position;
pub use rounded::Rounded;
pub use span::Span;
