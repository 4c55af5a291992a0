//! What the live and end-to-end tests share: real parts, boards, stages and tools.

pub mod board;
pub mod journal_file;
pub mod journal_story;
pub mod live;
pub mod long_trip;
pub mod marker;
pub mod parts;
pub mod player;
pub mod receipt;
pub mod screens;
pub mod stage;
pub mod tools;
