//! Values from text that has one of them in each line, as JSON.

use serde::de::DeserializeOwned;

/// Reads a value from each line.
///
/// # Errors
/// The first line that holds no such value.
pub fn json_lines<T: DeserializeOwned>(text: &str) -> serde_json::Result<Vec<T>> {
    text.lines().map(serde_json::from_str).collect()
}
