//! How the pages write times, days and probabilities.

use chrono::{DateTime, Utc};
use jumpseat_values::display;

/// "15:04:28".
pub(super) fn clock(time: DateTime<Utc>) -> String {
    display::nearest_second(time).format("%H:%M:%S").to_string()
}

/// "14 May 2026".
pub(super) fn day(time: DateTime<Utc>) -> String {
    display::nearest_second(time)
        .format("%-d %b %Y")
        .to_string()
}

/// "93 %".
pub(super) fn percent(probability: f64) -> String {
    format!("{} %", display::percent(probability))
}

/// The class in the style sheet for a probability.
pub(super) fn sureness(probability: f64) -> &'static str {
    match probability {
        p if p >= 0.9 => "sure",
        p if p >= 0.6 => "likely",
        _ => "unsure",
    }
}

/// A first letter in upper case.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}
