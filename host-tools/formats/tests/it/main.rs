//! What the formats write is what they read.

mod every_field;
mod round_trip;
