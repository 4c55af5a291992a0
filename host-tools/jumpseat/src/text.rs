//! How lengths, sizes and counts are written for people.

/// "1 contact", "2 contacts".
pub(crate) fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// Minutes and seconds, such as "2:05", or hours "1:02:05".
pub(crate) fn length(seconds: f64) -> String {
    // Lengths of trips are far below 2^53.
    let whole = seconds.max(0.0).round() as u64;
    let (hours, minutes, seconds) = (whole / 3600, whole / 60 % 60, whole % 60);
    if hours > 0 {
        format!("{hours}:{minutes:02}:{seconds:02}")
    } else {
        format!("{minutes}:{seconds:02}")
    }
}

/// Bytes in the unit that suits.
pub(crate) fn bytes(bytes: u64) -> String {
    match bytes {
        0..10_000 => format!("{bytes} bytes"),
        10_000..10_000_000 => format!("{:.1} kB", bytes as f64 / 1e3),
        10_000_000..10_000_000_000 => format!("{:.1} MB", bytes as f64 / 1e6),
        _ => format!("{:.1} GB", bytes as f64 / 1e9),
    }
}

/// Bytes as hexadecimal digits.
pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths() {
        for (seconds, expected) in [
            (0.0, "0:00"),
            (-1.0, "0:00"),
            (59.6, "1:00"),
            (3725.0, "1:02:05"),
        ] {
            assert_eq!(length(seconds), expected);
        }
    }
}
