//! How times, places and tags are written in a record.

use std::fmt::Write as _;

use chrono::{DateTime, Utc};

use jumpseat_values::display::nearest_second;

/// Adds `<NAME:length>value `, with the data type indicator where one is given.
/// The value is ASCII, so bytes are characters.
pub(super) fn push(text: &mut String, name: &str, kind: Option<&str>, value: &str) {
    if !value.is_empty() {
        let kind = kind.map(|kind| format!(":{kind}")).unwrap_or_default();
        // Writing to a String cannot fail.
        let _ = write!(text, "<{name}:{}{kind}>{value} ", value.len());
    }
}

/// Date: YYYYMMDD of the nearest second.
pub(super) fn day(time: DateTime<Utc>) -> String {
    nearest_second(time).format("%Y%m%d").to_string()
}

/// Time: HHMMSS of the nearest second.
pub(super) fn time_of_day(time: DateTime<Utc>) -> String {
    nearest_second(time).format("%H%M%S").to_string()
}

/// Time: HHMM.
pub(super) fn minute_of_day(time: DateTime<Utc>) -> String {
    nearest_second(time).format("%H%M").to_string()
}

/// Location: `XDDD MM.MMM`. `None` beyond `most` degrees and for no number.
pub(super) fn degrees(value: f64, most: u32, letters: [char; 2]) -> Option<String> {
    if !value.is_finite() || value.abs() > f64::from(most) {
        return None;
    }
    // In thousandths of a minute, so that 59.9996 becomes the next degree and
    // never "60.000". At most 180 × 60,000, which fits.
    let thousandths = (value.abs() * 60_000.0).round() as u32;
    let letter = letters[usize::from(value < 0.0 && thousandths > 0)];
    let (whole, minutes) = (thousandths / 60_000, thousandths % 60_000);
    Some(format!(
        "{letter}{whole:03} {:02}.{:03}",
        minutes / 1000,
        minutes % 1000
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn times_are_those_of_the_nearest_second() {
        for (time, expected) in [
            ("2026-05-14T15:04:21.499Z", "20260514 150421"),
            ("2026-05-14T15:04:21.500Z", "20260514 150422"),
            ("2026-12-31T23:59:59.700Z", "20270101 000000"),
            ("2024-02-28T23:59:59.999Z", "20240229 000000"),
        ] {
            let time = time.parse().unwrap();
            assert_eq!(format!("{} {}", day(time), time_of_day(time)), expected);
        }
    }

    #[track_caller]
    fn check(value: f64, expected: Option<&str>) {
        assert_eq!(
            degrees(value, 180, ['E', 'W']).as_deref(),
            expected,
            "{value}"
        );
    }

    #[test]
    fn places_have_the_form_of_the_specification() {
        check(0.0, Some("E000 00.000"));
        check(-0.000_000_1, Some("E000 00.000"));
        check(12.5, Some("E012 30.000"));
        check(-109.710_1, Some("W109 42.606"));
        check(1.999_999_9, Some("E002 00.000"));
        check(180.0, Some("E180 00.000"));
        check(-180.0, Some("W180 00.000"));
        check(180.1, None);
        check(f64::NAN, None);
        check(f64::INFINITY, None);
    }

    proptest! {
        #[test]
        fn a_place_reads_back_to_within_two_metres(value in -180.0_f64..=180.0) {
            let text = degrees(value, 180, ['E', 'W']).unwrap();
            prop_assert_eq!(text.len(), 11);
            let whole: f64 = text[1..4].parse().unwrap();
            let minutes: f64 = text[5..].parse().unwrap();
            prop_assert!(minutes < 60.0);
            let sign = if text.starts_with('W') { -1.0 } else { 1.0 };
            prop_assert!((sign * (whole + minutes / 60.0) - value).abs() <= 0.000_5 / 60.0 + 1e-9);
        }
    }
}
