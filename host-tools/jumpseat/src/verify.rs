//! Whether the library still holds what was put into it.
//!
//! A pull notes the checksum of every file that it copied. The board notes in its
//! journal the checksum of the samples of each sound file, by which a packed file can be
//! proven too. Nothing is changed here.

mod schedule;
mod sums;

use std::path::Path;

use jumpseat_trip::{RetentionManifest, SegmentState, Trip};
use serde::Serialize;

use crate::home::file_name;
use crate::outcome::error_message;
use crate::pull::ChecksumList;
use sums::{SamplesProof, file_sum, safe, samples_sum};

pub(crate) use schedule::{VerificationSchedule, verify_due_trips};

/// What became of one trip.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub(crate) struct TripVerification {
    /// Its folder's name.
    pub(crate) trip: String,
    /// Files that are what they were.
    pub(crate) proven: usize,
    /// Sound files of which no checksum is known.
    pub(crate) unproven: usize,
    /// Bytes that were read.
    pub(crate) bytes: u64,
    /// Files that are not what they were.
    pub(crate) wrong: Vec<ChangedFile>,
}

/// A file that is not what it was.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(crate) struct ChangedFile {
    /// From the trip's folder.
    pub(crate) file: String,
    /// What is wrong with it, in plain words.
    pub(crate) what: String,
}

/// Told of the bytes that were read since it was last told.
pub(crate) type BytesReadListener<'a> = &'a dyn Fn(u64);

/// Compares every file of a trip's folder with its checksum.
pub(crate) fn verify(folder: &Path, tell: BytesReadListener<'_>) -> TripVerification {
    match Trip::open(folder) {
        Ok(trip) => verify_trip(&trip, tell),
        Err(error) => {
            let (mut verified, _) = verify_files(folder, tell);
            verified.wrong(".", error.to_string());
            verified
        }
    }
}

/// Compares every file of a trip with its checksum.
pub(crate) fn verify_trip(trip: &Trip, tell: BytesReadListener<'_>) -> TripVerification {
    let (mut verified, sums) = verify_files(trip.dir(), tell);
    verify_sound(trip, &sums, &mut verified, tell);
    verified
}

/// Compares the files that a pull noted.
fn verify_files(folder: &Path, tell: BytesReadListener<'_>) -> (TripVerification, ChecksumList) {
    let mut verified = TripVerification {
        trip: file_name(folder),
        ..TripVerification::default()
    };
    let sums = ChecksumList::read(folder).unwrap_or_else(|error| {
        verified.wrong(".sha256sums", error_message(&error));
        ChecksumList::default()
    });
    let kept = RetentionManifest::read(folder).unwrap_or_default();
    for (name, noted) in sums.all() {
        let packed = kept.files.iter().any(|file| file.path == name);
        if !safe(name) {
            let what = "its name in the list of checksums leads out of the trip; it was not read";
            verified.wrong(name, what.into());
            continue;
        }
        match file_sum(&folder.join(name), tell) {
            Ok(Some((sum, bytes))) => {
                verified.bytes += bytes;
                // A pull that runs just now notes the new checksum before the file.
                if sum == noted || is_noted_now(folder, name, &sum) {
                    verified.proven += 1;
                } else {
                    let what = "it is not what was copied: its checksum has changed";
                    verified.wrong(name, what.into());
                }
            }
            Ok(None) if packed => {}
            Ok(None) => verified.wrong(name, "it was copied, and is not there any more".into()),
            Err(reason) => verified.wrong(name, format!("it cannot be read: {reason}")),
        }
    }
    (verified, sums)
}

fn is_noted_now(folder: &Path, name: &str, sum: &str) -> bool {
    ChecksumList::read(folder).is_ok_and(|sums| sums.checksum(name) == Some(sum))
}

/// Compares sound files that no pull noted, as those that `keep` packed, with what the
/// board wrote down of their samples.
fn verify_sound(
    trip: &Trip,
    sums: &ChecksumList,
    verified: &mut TripVerification,
    tell: BytesReadListener<'_>,
) {
    let noted = sums::noted(trip.records());
    for segment in trip.segments() {
        let name = format!("audio/{}", file_name(&segment.path));
        if segment.state == SegmentState::Missing || sums.checksum(&name).is_some() {
            continue;
        }
        match samples_sum(&segment.path, noted.get(&segment.number), tell) {
            Ok(SamplesProof::Same(bytes)) => {
                verified.bytes += bytes;
                verified.proven += 1;
            }
            Ok(SamplesProof::None) => verified.unproven += 1,
            Ok(SamplesProof::Differs(bytes)) => {
                verified.bytes += bytes;
                let what = "its samples are not those that were recorded";
                verified.wrong(&name, what.into());
            }
            Err(reason) => verified.wrong(&name, reason),
        }
    }
}

impl TripVerification {
    fn wrong(&mut self, file: &str, what: String) {
        self.wrong.push(ChangedFile {
            file: file.escape_debug().to_string(),
            what,
        });
    }
}

/// What to do about a trip of the library that is not what it was; `command` is how a
/// command for this home begins.
pub(crate) fn advice(folder: &Path, command: &str) -> String {
    format!(
        "Restore these files from a backup, or move {} away and `{command} pull` the trip again \
         from its card or board",
        folder.display()
    )
}
