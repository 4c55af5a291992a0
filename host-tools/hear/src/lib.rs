//! Sound to tokens: front end, acoustic model, decoder.

pub mod activity;
