//! How sizes are written for people.

/// Bytes in the unit that suits.
pub(crate) fn bytes(bytes: u64) -> String {
    match bytes {
        0..10_000 => format!("{bytes} bytes"),
        10_000..10_000_000 => format!("{:.1} kB", bytes as f64 / 1e3),
        10_000_000..10_000_000_000 => format!("{:.1} MB", bytes as f64 / 1e6),
        _ => format!("{:.1} GB", bytes as f64 / 1e9),
    }
}
