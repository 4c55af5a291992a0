//! Small values that every home tool shares, and how they are displayed.
#![forbid(unsafe_code)]

pub mod display;
