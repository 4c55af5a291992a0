//! Keeps the last trip's number outside the card too.

use std::path::{Path, PathBuf};

use std::sync::mpsc::Sender;

use jumpseat_core::journal::RecorderFault;

use crate::device_message::DeviceMessage;
use crate::error::RecorderError;
use crate::monotonic;
use crate::storage::checked::replace;
use crate::storage::{DiskStorage, SyncDurability, read_text};
use crate::threads;
use crate::trip_number::{MAX_COUNTER_BYTES, parse_counter};

/// A file with the number, on another disk than the trips.
#[derive(Debug, Clone)]
pub(super) struct LastTripFile {
    /// `None`: no such file.
    path: Option<PathBuf>,
}

impl LastTripFile {
    /// Uses this file; an empty path means none.
    pub(super) fn at(path: &Path) -> Self {
        let path = (!path.as_os_str().is_empty()).then(|| path.to_owned());
        Self { path }
    }

    /// Reads the number, if there is one. `doubts` receives why it cannot be read.
    pub(super) fn read(&self, doubts: &mut Vec<String>) -> Option<u32> {
        let path = self.path.as_deref()?;
        let mut disk = DiskStorage::new(SyncDurability::Synced);
        let found = match read_text(&mut disk, path, MAX_COUNTER_BYTES) {
            Ok(text) => parse_counter(&text),
            // There was no trip yet. A path that cannot be written is reported when the
            // number is written.
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return None,
            Err(error) => Err(error.to_string()),
        };
        found
            .map_err(|why| {
                doubts.push(format!(
                    "{} is ignored: {why}. Remove it, or set card.last_trip to another file",
                    path.display()
                ));
            })
            .ok()
    }

    /// Writes the number on a thread of its own, because a recording must not wait for any
    /// disk but its card. Reports a failure.
    pub(super) fn write_in_background(&self, number: u32, arrivals: Sender<DeviceMessage>) {
        let Some(path) = self.path.clone() else {
            return;
        };
        let own_arrivals = arrivals.clone();
        let run = move || {
            if let Err(error) = write(&path, number) {
                report(&arrivals, &error.to_string());
            }
        };
        if let Err(error) = threads::spawn("last trip", run) {
            report(&own_arrivals, &error.to_string());
        }
    }
}

/// The highest number stays, whichever start writes last.
fn write(path: &Path, number: u32) -> Result<(), RecorderError> {
    let mut disk = DiskStorage::new(SyncDurability::Synced);
    let present = read_text(&mut disk, path, MAX_COUNTER_BYTES);
    if present.is_ok_and(|text| parse_counter(&text).is_ok_and(|present| present >= number)) {
        return Ok(());
    }
    // Each of several simultaneous starts writes a file of its own.
    let part = path.with_extension(format!("{number:06}.part"));
    replace(&mut disk, path, &part, format!("{number}\n").as_bytes())
}

fn report(arrivals: &Sender<DeviceMessage>, why: &str) {
    let arrival = DeviceMessage::Notice {
        fault: RecorderFault::Storage,
        detail: format!(
            "the trip's number is kept on the card only: {why}. A fresh card would begin at 1 \
             again; see card.last_trip in the config file"
        ),
        at_ns: monotonic::now_ns(),
    };
    // The receiver is gone only when the process ends.
    let _ending = arrivals.send(arrival);
}
