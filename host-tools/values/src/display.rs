//! How times, lengths, frequencies and likelihoods are written, alike in every table,
//! page and file.

use chrono::{DateTime, SubsecRound as _, Utc};

/// The nearest second; a half goes up. A file that has no fractions and a table
/// on the screen must say the same second.
pub fn nearest_second(time: DateTime<Utc>) -> DateTime<Utc> {
    time.round_subsecs(0)
}

/// Megahertz with all the decimals that hertz have, at least three.
pub fn megahertz(hz: u64) -> String {
    let text = format!("{}.{:06}", hz / 1_000_000, hz % 1_000_000);
    let spare = text.len() - text.trim_end_matches('0').len();
    text[..text.len() - spare.min(3)].to_owned()
}

/// Megahertz as hertz, to the nearest; with a comma too, as some programs write.
/// Zero means that it is not known.
pub fn hertz(text: &str) -> Option<u64> {
    let text = text.replace(',', ".");
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    let (whole, part) = text.split_once('.').unwrap_or((&text, ""));
    if !digits(whole) || !digits(part) || whole.len() + part.len() == 0 {
        return None;
    }
    let whole: u64 = if whole.is_empty() {
        0
    } else {
        whole.parse().ok()?
    };
    let padded = format!("{part:0<7}");
    let tenths: u64 = padded.get(..7)?.parse().ok()?;
    whole.checked_mul(1_000_000)?.checked_add((tenths + 5) / 10)
}

/// "1 contact", "2 contacts".
pub fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// Minutes and seconds, such as "2:05", or hours "1:02:05".
pub fn length(seconds: f64) -> String {
    // Lengths of trips are far below 2^53.
    let whole = seconds.max(0.0).round() as u64;
    let (hours, minutes, seconds) = (whole / 3600, whole / 60 % 60, whole % 60);
    if hours > 0 {
        format!("{hours}:{minutes:02}:{seconds:02}")
    } else {
        format!("{minutes}:{seconds:02}")
    }
}

/// A probability, 0 to 1, in whole per cent; what is not certain is not called so.
pub fn percent(probability: f64) -> u8 {
    let most = if probability < 1.0 { 99.0 } else { 100.0 };
    (probability * 100.0).round().clamp(0.0, most) as u8
}

/// A number of bytes in the unit that suits, such as "12.3 MB" (1 MB is 1,000,000 bytes).
pub fn byte_size(bytes: u64) -> String {
    match bytes {
        0..10_000 => format!("{bytes} bytes"),
        10_000..10_000_000 => format!("{:.1} kB", bytes as f64 / 1e3),
        10_000_000..10_000_000_000 => format!("{:.1} MB", bytes as f64 / 1e6),
        _ => format!("{:.1} GB", bytes as f64 / 1e9),
    }
}

/// Bytes as hexadecimal digits.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

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

    #[test]
    fn only_what_is_certain_has_a_hundred_per_cent() {
        for (probability, expected) in [(-0.1, 0), (0.0, 0), (0.934, 93), (0.9999, 99), (1.0, 100)]
        {
            assert_eq!(percent(probability), expected);
        }
    }

    #[test]
    fn frequencies_lose_no_hertz() {
        for (hz, expected) in [
            (14_250_000, "14.250"),
            (14_287_500, "14.2875"),
            (7_000_000, "7.000"),
            (7_000_010, "7.00001"),
            (146_520_001, "146.520001"),
            (137_450, "0.13745"),
            (0, "0.000"),
            (10_368_100_000, "10368.100"),
        ] {
            assert_eq!(megahertz(hz), expected);
        }
    }

    #[test]
    fn megahertz_are_read_in_the_forms_that_programs_write() {
        for (text, expected) in [
            ("14.2875", Some(14_287_500)),
            ("14,2875", Some(14_287_500)),
            ("7", Some(7_000_000)),
            (".1375", Some(137_500)),
            ("7.0000019", Some(7_000_002)),
            ("", None),
            (".", None),
            ("-7", None),
            ("7.1.2", None),
            ("1e3", None),
            ("99999999999999999999", None),
        ] {
            assert_eq!(hertz(text), expected, "{text}");
        }
    }

    #[test]
    fn the_second_is_the_nearest() {
        for (time, expected) in [
            ("2026-05-14T15:04:21.499Z", "2026-05-14T15:04:21Z"),
            ("2026-05-14T15:04:21.500Z", "2026-05-14T15:04:22Z"),
            ("2026-12-31T23:59:59.700Z", "2027-01-01T00:00:00Z"),
            ("2024-02-28T23:59:59.999Z", "2024-02-29T00:00:00Z"),
        ] {
            let time: DateTime<Utc> = time.parse().unwrap();
            let expected: DateTime<Utc> = expected.parse().unwrap();
            assert_eq!(nearest_second(time), expected);
        }
    }

    proptest! {
        #[test]
        fn a_frequency_reads_back(hz in 0_u64..100_000_000_000) {
            let text = megahertz(hz);
            let (whole, part) = text.split_once('.').unwrap();
            prop_assert!(part.len() >= 3);
            let hertz: u64 = format!("{part:0<6}").parse().unwrap();
            prop_assert_eq!(whole.parse::<u64>().unwrap() * 1_000_000 + hertz, hz);
        }
    }
}
