//! How times and frequencies are written, alike in every table and file.

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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

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
