//! What the receiver says, raw, with a flag for whether it claimed a fix.

mod sentence;

pub use sentence::SentenceReader;
