//! Reads the values of fields: dates, times, places.

use chrono::{DateTime, Days, NaiveDate, NaiveTime, TimeDelta, Utc};

/// A date, YYYYMMDD.
pub(super) fn date(text: &str) -> Option<NaiveDate> {
    if text.len() != 8 || !is_digits(text) {
        return None;
    }
    NaiveDate::parse_from_str(text, "%Y%m%d").ok()
}

/// A time, HHMMSS, or HHMM: then only the minute is known.
pub(super) fn time(text: &str) -> Option<(NaiveTime, bool)> {
    if !is_digits(text) {
        return None;
    }
    match text.len() {
        4 => Some((
            NaiveTime::parse_from_str(&format!("{text}00"), "%H%M%S").ok()?,
            true,
        )),
        6 => {
            let second: u32 = text.get(4..)?.parse().ok()?;
            let time = NaiveTime::parse_from_str(text, "%H%M%S").ok()?;
            (second < 60).then_some((time, false))
        }
        _ => None,
    }
}

/// The end of a contact: without a date of its own it is the first such time
/// from the start on.
pub(super) fn end(
    on: DateTime<Utc>,
    day: Option<NaiveDate>,
    time: NaiveTime,
) -> Option<DateTime<Utc>> {
    if let Some(day) = day {
        return Some(day.and_time(time).and_utc());
    }
    let same_day = on.date_naive().and_time(time).and_utc();
    // A start with seconds and an end without may lie in the same minute.
    if same_day + TimeDelta::minutes(1) > on {
        Some(same_day)
    } else {
        same_day.checked_add_days(Days::new(1))
    }
}

/// Location, `XDDD MM.MMM`, in degrees; south and west are negative.
pub(super) fn degrees(text: &str, most: f64, letters: [char; 2]) -> Option<f64> {
    let mut rest = text.chars();
    let letter = rest.next()?.to_ascii_uppercase();
    let (whole, minutes) = rest.as_str().split_once(' ')?;
    let number = |text: &str| {
        let plain = text
            .bytes()
            .all(|byte| byte.is_ascii_digit() || byte == b'.');
        plain.then(|| text.parse::<f64>().ok())?
    };
    let (whole, minutes) = (number(whole)?, number(minutes.trim())?);
    let degrees = whole + minutes / 60.0;
    if minutes >= 60.0 || degrees > most || !letters.contains(&letter) {
        return None;
    }
    // As many decimals as a draft has; a thousandth of a minute is two metres.
    let rounded = (degrees * 1e6).round() / 1e6;
    Some(if letter == letters[1] && rounded > 0.0 {
        -rounded
    } else {
        rounded
    })
}

fn is_digits(text: &str) -> bool {
    text.bytes().all(|byte| byte.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check<T: PartialEq + std::fmt::Debug>(found: Option<T>, expected: Option<T>) {
        assert_eq!(found, expected);
    }

    #[test]
    fn dates_and_times() {
        check(date("20260514"), NaiveDate::from_ymd_opt(2026, 5, 14));
        for wrong in ["2026514", "20260532", "2026-5-1", "", "２０２６"] {
            check(date(wrong), None);
        }
        let at = |h, m, s| NaiveTime::from_hms_opt(h, m, s).unwrap();
        check(time("235958"), Some((at(23, 59, 58), false)));
        check(time("2359"), Some((at(23, 59, 0), true)));
        for wrong in ["24", "240000", "235960", "23:59", "", "-10000"] {
            check(time(wrong), None);
        }
    }

    #[test]
    fn an_end_before_the_start_is_on_the_next_day() {
        let on: DateTime<Utc> = "2026-05-14T23:59:58Z".parse().unwrap();
        for (time, expected) in [
            ("00:01:12", "2026-05-15T00:01:12Z"),
            ("23:59:59", "2026-05-14T23:59:59Z"),
            ("23:59:00", "2026-05-14T23:59:00Z"),
        ] {
            let expected = expected.parse().unwrap();
            check(end(on, None, time.parse().unwrap()), Some(expected));
        }
    }

    #[test]
    fn places() {
        let lon = |text| degrees(text, 180.0, ['E', 'W']);
        check(lon("W109 42.606"), Some(-109.7101));
        check(lon("e000 00.000"), Some(0.0));
        check(lon("E180 00.000"), Some(180.0));
        for wrong in [
            "N010 00.000",
            "E180 00.001",
            "E010 60.000",
            "E010",
            "",
            "E1e1 00.0",
        ] {
            check(lon(wrong), None);
        }
    }
}
