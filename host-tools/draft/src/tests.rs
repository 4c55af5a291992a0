//! Tables of cases for the crate as a whole.

mod assemble;
mod station;
