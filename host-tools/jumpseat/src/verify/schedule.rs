//! Decides which trips to verify when: each after a month, those first that have waited
//! longest, so that a damaged file is found while the card or a backup still has it.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use anyhow::{Context as _, Result};
use chrono::{DateTime, TimeDelta, Utc};
use jumpseat_files::{file_name, write_durably};
use jumpseat_pull::CHECKSUM_FILE;
use serde::{Deserialize, Serialize};

use super::trip::{TripVerification, verify};
use crate::home::HomeFolder;

/// Time after which a trip is verified again.
const VERIFY_AFTER: TimeDelta = TimeDelta::days(30);

/// Time after which no further trip is started.
const VERIFY_BUDGET: Duration = Duration::from_secs(5);

/// When each trip was last verified; stored in the home folder.
#[derive(Debug)]
pub(crate) struct VerificationSchedule {
    path: PathBuf,
    last: BTreeMap<String, DateTime<Utc>>,
}

#[derive(Serialize, Deserialize)]
struct VerificationFile {
    format: u32,
    /// When, by the trip's name in the library.
    verified: BTreeMap<String, DateTime<Utc>>,
}

impl VerificationSchedule {
    /// Reads the schedule. If the file has another form, every trip is verified again.
    pub(crate) fn read(home: &HomeFolder) -> Result<Self> {
        let path = home.dir().join("verified.json");
        let last = match fs::read(&path) {
            Ok(text) => serde_json::from_slice::<VerificationFile>(&text)
                .ok()
                .filter(|file| file.format == 1)
                .map(|file| file.verified)
                .unwrap_or_default(),
            Err(error) if error.kind() == io::ErrorKind::NotFound => BTreeMap::new(),
            Err(error) => {
                return Err(error).with_context(|| format!("cannot read {}", path.display()));
            }
        };
        Ok(Self { path, last })
    }

    /// Records that a trip was verified and is unchanged, on the disk too, so that an
    /// interrupted run leaves what it did. A trip that changed is due again next time.
    pub(crate) fn record(&mut self, verified: &TripVerification, now: DateTime<Utc>) -> Result<()> {
        if verified.wrong.is_empty() {
            self.last.insert(verified.trip.clone(), now);
        } else {
            self.last.remove(&verified.trip);
        }
        let file = VerificationFile {
            format: 1,
            verified: self.last.clone(),
        };
        let mut text = serde_json::to_vec_pretty(&file)?;
        text.push(b'\n');
        Ok(write_durably(&self.path, &text)?)
    }

    /// When a trip was last verified; a pull verifies what it copies.
    fn last(&self, folder: &Path) -> DateTime<Utc> {
        let recorded = self.last.get(&file_name(folder)).copied();
        let pulled = fs::metadata(folder.join(CHECKSUM_FILE))
            .and_then(|data| data.modified())
            .map(DateTime::from)
            .ok();
        recorded.max(pulled).unwrap_or(DateTime::UNIX_EPOCH)
    }

    /// The trips that are due, those first that have waited longest.
    fn due(&self, folders: Vec<PathBuf>, now: DateTime<Utc>) -> Vec<PathBuf> {
        let waits = folders
            .into_iter()
            .map(|folder| (self.last(&folder), folder));
        // A time in the future is from a clock that was wrong.
        let mut due: Vec<(DateTime<Utc>, PathBuf)> = waits
            .filter(|(last, _)| (now - *last).abs() >= VERIFY_AFTER)
            .collect();
        due.sort();
        due.into_iter().map(|(_, folder)| folder).collect()
    }
}

/// Verifies trips of the library that are due, as many as a few seconds allow. Returns
/// those that changed, with their folders.
pub(crate) fn verify_due_trips(home: &HomeFolder) -> Result<Vec<(PathBuf, TripVerification)>> {
    let (begun, now) = (Instant::now(), Utc::now());
    let mut schedule = VerificationSchedule::read(home)?;
    let mut wrong = Vec::new();
    for folder in schedule.due(home.trip_folders()?, now) {
        if begun.elapsed() >= VERIFY_BUDGET {
            break;
        }
        let verified = verify(&folder, &|_| ());
        schedule.record(&verified, now)?;
        if !verified.wrong.is_empty() {
            wrong.push((folder, verified));
        }
    }
    Ok(wrong)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn who_waits_longest_is_first_and_who_was_just_pulled_waits() {
        let folder = tempfile::tempdir().unwrap();
        let home = HomeFolder::new(Some(folder.path().to_owned())).unwrap();
        let now = Utc::now();
        let mut schedule = VerificationSchedule::read(&home).unwrap();
        let names = ["fresh", "pulled", "old", "older", "never", "to-come"];
        let folders: Vec<PathBuf> = names.iter().map(|name| home.trips().join(name)).collect();
        for path in &folders {
            fs::create_dir_all(path).unwrap();
        }
        fs::write(folders[1].join(".sha256sums"), "").unwrap();
        for (name, days) in [("fresh", 29), ("old", 31), ("older", 400), ("to-come", -31)] {
            let verified = TripVerification {
                trip: name.into(),
                ..TripVerification::default()
            };
            schedule
                .record(&verified, now - TimeDelta::days(days))
                .unwrap();
        }
        let schedule = VerificationSchedule::read(&home).unwrap();
        let due = schedule.due(folders, now);
        let due: Vec<String> = due.iter().map(|path| file_name(path)).collect();
        assert_eq!(due, ["never", "older", "old", "to-come"]);
        fs::write(home.dir().join("verified.json"), "[]").unwrap();
        assert!(VerificationSchedule::read(&home).unwrap().last.is_empty());
    }
}
