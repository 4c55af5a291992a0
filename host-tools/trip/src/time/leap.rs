//! UTC to a scale without leap seconds, and back.
//!
//! Clocks are fitted in International Atomic Time (TAI), which has no steps.
//! Table: IERS Bulletin C, as published in leap-seconds.list; a test compares it
//! with the copy that comes with the system's time-zone data.

use chrono::{DateTime, Utc};

/// A second of TAI in its smallest unit here.
pub(crate) const TAI_SECOND_NS: i128 = 1_000_000_000;

/// Unix time from which TAI minus UTC has the given value in seconds.
const TAI_STEPS: [(i64, i64); 28] = [
    (63_072_000, 10),
    (78_796_800, 11),
    (94_694_400, 12),
    (126_230_400, 13),
    (157_766_400, 14),
    (189_302_400, 15),
    (220_924_800, 16),
    (252_460_800, 17),
    (283_996_800, 18),
    (315_532_800, 19),
    (362_793_600, 20),
    (394_329_600, 21),
    (425_865_600, 22),
    (489_024_000, 23),
    (567_993_600, 24),
    (631_152_000, 25),
    (662_688_000, 26),
    (709_948_800, 27),
    (741_484_800, 28),
    (773_020_800, 29),
    (820_454_400, 30),
    (867_715_200, 31),
    (915_148_800, 32),
    (1_136_073_600, 33),
    (1_230_768_000, 34),
    (1_341_100_800, 35),
    (1_435_708_800, 36),
    (1_483_228_800, 37),
];

/// TAI minus UTC in seconds at a Unix time; 10 before the table begins.
fn ahead(unix: i64) -> i64 {
    let after = TAI_STEPS.partition_point(|(from, _)| *from <= unix);
    after.checked_sub(1).map_or(10, |at| TAI_STEPS[at].1)
}

/// Nanoseconds of TAI since 1970-01-01 00:00:00 TAI. A leap second ("23:59:60",
/// in chrono a second with more than 10⁹ nanoseconds) is a second like any other.
pub(crate) fn tai_of_utc(utc: DateTime<Utc>) -> i128 {
    let unix = utc.timestamp();
    i128::from(unix + ahead(unix)) * TAI_SECOND_NS + i128::from(utc.timestamp_subsec_nanos())
}

/// UTC of a TAI time; `None` when it is beyond the calendar.
pub(crate) fn utc_of_tai(tai_ns: i128) -> Option<DateTime<Utc>> {
    let seconds = i64::try_from(tai_ns.div_euclid(TAI_SECOND_NS)).ok()?;
    let nanos = u32::try_from(tai_ns.rem_euclid(TAI_SECOND_NS)).ok()?;
    let after = TAI_STEPS.partition_point(|(from, ahead)| from + ahead <= seconds);
    let before = after.checked_sub(1).map_or(10, |at| TAI_STEPS[at].1);
    // The second before a step, counted on, is the leap second itself.
    let leap = TAI_STEPS
        .get(after)
        .is_some_and(|(from, ahead)| *ahead > before && seconds == from + before);
    if leap {
        DateTime::from_timestamp(seconds - before - 1, nanos + 1_000_000_000)
    } else {
        DateTime::from_timestamp(seconds - before, nanos)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(utc: &str, tai_minus_unix: i128) {
        let time: DateTime<Utc> = utc.parse().unwrap();
        let tai = tai_of_utc(time);
        assert_eq!(
            tai / TAI_SECOND_NS - i128::from(time.timestamp()),
            tai_minus_unix,
            "{utc}"
        );
        assert_eq!(utc_of_tai(tai), Some(time), "{utc}");
    }

    #[test]
    fn tai_is_ahead_by_the_published_seconds() {
        check("1980-01-06T00:00:00Z", 19);
        check("2016-12-31T23:59:59.5Z", 36);
        // The leap second itself: one more than the 59th.
        check("2016-12-31T23:59:60Z", 37);
        check("2016-12-31T23:59:60.75Z", 37);
        check("2017-01-01T00:00:00Z", 37);
        check("2026-05-14T15:02:11Z", 37);
    }

    #[test]
    fn seconds_follow_each_other_through_a_leap_second() {
        let texts = [
            "2016-12-31T23:59:58Z",
            "2016-12-31T23:59:59Z",
            "2016-12-31T23:59:60Z",
            "2017-01-01T00:00:00Z",
            "2017-01-01T00:00:01Z",
        ];
        let tai = texts.map(|text| tai_of_utc(text.parse().unwrap()));
        assert!(
            tai.windows(2)
                .all(|pair| pair[1] - pair[0] == TAI_SECOND_NS)
        );
    }

    #[test]
    fn the_table_is_that_of_the_system() {
        // Seconds from 1900 to 1970.
        const NTP: i64 = 2_208_988_800;
        let path = "/usr/share/zoneinfo/leap-seconds.list";
        let Ok(text) = std::fs::read_to_string(path) else {
            return eprintln!("{path} is not on this machine; not compared");
        };
        let published: Vec<(i64, i64)> = text
            .lines()
            .filter(|line| !line.starts_with('#'))
            .filter_map(|line| {
                let mut words = line.split_whitespace();
                let from: i64 = words.next()?.parse().ok()?;
                Some((from - NTP, words.next()?.parse().ok()?))
            })
            .collect();
        assert_eq!(published, TAI_STEPS);
    }
}
