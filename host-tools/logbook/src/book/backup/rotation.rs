//! Which daily backups are removed.

use std::collections::BTreeSet;
use std::path::Path;

use chrono::Datelike as _;

use crate::backup_files::{BackupReason, LogbookBackup};

const DAYS_KEPT: usize = 7;
const WEEKS_KEPT: usize = 4;

/// Daily backups take no more bytes than this together, except for the newest ones: a
/// logbook of 100,000 contacts has about 160 MB.
const MAX_DAILY_BACKUP_BYTES: u64 = 1_000_000_000;
const ALWAYS_KEPT: usize = 3;

/// The daily backups to remove, of all that exist, newest first. Kept are the first one of
/// each of the last seven days that have any, and the last one of each of the four weeks
/// before, as far as the limit allows; and the one that was just made, even if the clock
/// was wrong.
pub(super) fn expired<'a>(there: &'a [LogbookBackup], made: &Path) -> Vec<&'a LogbookBackup> {
    let daily: Vec<&LogbookBackup> = there
        .iter()
        .filter(|backup| backup.why == BackupReason::Day)
        .collect();
    let days: BTreeSet<_> = daily.iter().map(|backup| backup.at.date_naive()).collect();
    let days: BTreeSet<_> = days.into_iter().rev().take(DAYS_KEPT).collect();
    let (mut seen, mut weeks) = (BTreeSet::new(), BTreeSet::new());
    let mut kept: BTreeSet<&Path> = BTreeSet::from([made]);
    // The first of a day says how the day began.
    for backup in daily.iter().rev() {
        let day = backup.at.date_naive();
        if days.contains(&day) && seen.insert(day) {
            kept.insert(&backup.path);
        }
    }
    for backup in &daily {
        let day = backup.at.date_naive();
        let week = (day.iso_week().year(), day.iso_week().week());
        if !days.contains(&day) && !weeks.contains(&week) && weeks.len() < WEEKS_KEPT {
            weeks.insert(week);
            kept.insert(&backup.path);
        }
    }
    let (mut bytes, mut count) = (0_u64, 0);
    daily
        .into_iter()
        .filter(|backup| {
            if !kept.contains(backup.path.as_path()) {
                return true;
            }
            count += 1;
            bytes = bytes.saturating_add(backup.bytes);
            count > ALWAYS_KEPT && bytes > MAX_DAILY_BACKUP_BYTES && backup.path != made
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use chrono::{DateTime, TimeDelta, Utc};

    use super::*;

    fn backup(at: DateTime<Utc>, why: BackupReason) -> LogbookBackup {
        LogbookBackup {
            path: PathBuf::from(format!(
                "{}-{}",
                at.format(crate::backup_files::NAME_TIME_FORMAT),
                why.word()
            )),
            at,
            why,
            bytes: 1,
        }
    }

    /// Makes one small backup after another, as time goes on; gives what is left.
    fn left(times: &[(&str, BackupReason)]) -> Vec<String> {
        left_of(times, 1)
    }

    fn left_of(times: &[(&str, BackupReason)], bytes: u64) -> Vec<String> {
        let mut there: Vec<LogbookBackup> = Vec::new();
        for (at, why) in times {
            let mut new = backup(format!("{at}Z").parse().unwrap(), *why);
            new.bytes = bytes;
            there.push(new.clone());
            there.sort_by(|one, other| other.path.cmp(&one.path));
            let gone: Vec<PathBuf> = expired(&there, &new.path)
                .iter()
                .map(|old| old.path.clone())
                .collect();
            there.retain(|old| !gone.contains(&old.path));
        }
        let name = |backup: &LogbookBackup| backup.at.format("%m-%d %H").to_string();
        there.iter().rev().map(name).collect()
    }

    #[test]
    fn seven_days_and_four_weeks_stay() {
        // 2026-05-04 is a Monday.
        let begin: DateTime<Utc> = "2026-03-01T08:00:00Z".parse().unwrap();
        let times: Vec<String> = (0..70)
            .map(|day| (begin + TimeDelta::days(day)).format("%FT%T").to_string())
            .collect();
        let times: Vec<(&str, BackupReason)> = times
            .iter()
            .map(|time| (time.as_str(), BackupReason::Day))
            .collect();
        assert_eq!(
            left(&times),
            [
                "04-12 08", "04-19 08", "04-26 08", "05-02 08", "05-03 08", "05-04 08", "05-05 08",
                "05-06 08", "05-07 08", "05-08 08", "05-09 08",
            ]
        );
    }

    #[test]
    fn the_first_of_a_day_stays_and_what_a_person_asked_for() {
        let day = BackupReason::Day;
        assert_eq!(
            left(&[
                ("2026-05-04T08:00:00", day),
                ("2026-05-04T09:00:00", BackupReason::Asked),
                ("2026-05-05T07:00:00", day),
                ("2026-05-05T09:00:00", day),
                ("2026-05-05T10:00:00", BackupReason::Replaced),
                ("2026-05-06T10:00:00", BackupReason::Upgrade),
            ]),
            ["05-04 08", "05-04 09", "05-05 07", "05-05 10", "05-06 10"]
        );
    }

    #[test]
    fn large_ones_take_no_more_than_their_room() {
        let day = BackupReason::Day;
        let times = [
            ("2026-05-04T08:00:00", day),
            ("2026-05-05T08:00:00", day),
            ("2026-05-06T08:00:00", day),
            ("2026-05-07T08:00:00", day),
            ("2026-05-08T08:00:00", day),
        ];
        for (megabytes, count) in [(200, 5), (240, 4), (900, 3), (5000, 3)] {
            assert_eq!(left_of(&times, megabytes * 1_000_000).len(), count);
        }
    }

    #[test]
    fn a_clock_that_goes_wrong_costs_none_that_was_just_made() {
        let mut times: Vec<(&str, BackupReason)> = Vec::new();
        for at in [
            "2026-05-01T08:00:00",
            "2026-05-02T08:00:00",
            "2026-05-03T08:00:00",
            "2026-05-04T08:00:00",
            "2026-05-05T08:00:00",
            "2026-05-06T08:00:00",
            "2026-05-07T08:00:00",
            "1970-01-01T00:00:00",
        ] {
            times.push((at, BackupReason::Day));
        }
        assert_eq!(left(&times).first().unwrap(), "01-01 00");
        assert_eq!(left(&times).len(), 8);
    }
}
