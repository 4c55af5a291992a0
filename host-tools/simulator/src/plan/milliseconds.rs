//! Times as scripts and truth say them.

/// Times in scripts and truth have three decimals; keep to what they can say.
pub(crate) fn round_ms(seconds: f64) -> f64 {
    (seconds * 1e3).round() / 1e3
}
