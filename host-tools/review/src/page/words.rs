//! How times, lengths and likelihoods are written.

use chrono::{DateTime, Utc};
use jumpseat_log::nearest_second;

/// "15:04:28".
pub(super) fn clock(time: DateTime<Utc>) -> String {
    nearest_second(time).format("%H:%M:%S").to_string()
}

/// "14 May 2026".
pub(super) fn day(time: DateTime<Utc>) -> String {
    nearest_second(time).format("%-d %b %Y").to_string()
}

/// "1:02:05" or "2:05".
pub(super) fn length(seconds: f64) -> String {
    let whole = seconds.max(0.0).round() as u64;
    let (hours, minutes, seconds) = (whole / 3600, whole / 60 % 60, whole % 60);
    if hours > 0 {
        format!("{hours}:{minutes:02}:{seconds:02}")
    } else {
        format!("{minutes}:{seconds:02}")
    }
}

/// "93 %".
pub(super) fn percent(probability: f64) -> String {
    // What is not certain is not called so.
    let share = (probability * 100.0).round().clamp(0.0, 100.0);
    let share = if probability < 1.0 {
        share.min(99.0)
    } else {
        share
    };
    format!("{share:.0} %")
}

/// How sure, as a class of the style sheet.
pub(super) fn sureness(probability: f64) -> &'static str {
    match probability {
        p if p >= 0.9 => "sure",
        p if p >= 0.6 => "likely",
        _ => "unsure",
    }
}

/// "1 entry", "2 entries".
pub(super) fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// A first letter in upper case.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}
