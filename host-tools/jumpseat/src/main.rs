//! The command at home.
fn main() {}
