//! What the exported files say about the program that wrote them.

pub(super) const PROGRAM: &str = "Jumpseat";
pub(super) const VERSION: &str = env!("CARGO_PKG_VERSION");
