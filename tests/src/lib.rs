//! What the live and end-to-end tests share: real parts, boards and stages. What the tests
//! of other crates use too is in `jumpseat-test-kit`.

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
