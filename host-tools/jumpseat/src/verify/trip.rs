//! Compares every file of a trip with its checksum.

use std::io;
use std::path::{Component, Path};

use jumpseat_files::file_name;
use jumpseat_pull::{ChecksumList, RecordedSamples, file_checksum};
use jumpseat_trip::{RetentionManifest, SegmentState, Trip};
use serde::Serialize;

use super::sound::{SamplesProof, compare_samples};

/// The result for one trip.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub(crate) struct TripVerification {
    /// Its folder's name.
    pub(crate) trip: String,
    /// Files that are unchanged.
    pub(crate) proven: usize,
    /// Sound files without a checksum.
    pub(crate) unproven: usize,
    /// Bytes that were read.
    pub(crate) bytes: u64,
    /// Files that changed or are missing.
    pub(crate) wrong: Vec<ChangedFile>,
}

/// A file that changed or is missing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(crate) struct ChangedFile {
    /// Path in the trip's folder.
    pub(crate) file: String,
    /// What is wrong with it.
    pub(crate) what: String,
}

/// Receives the number of bytes of each piece that was read.
type BytesReadListener<'a> = &'a dyn Fn(u64);

/// Verifies the trip in a folder, also where it cannot be opened as a trip.
pub(crate) fn verify(folder: &Path, listener: BytesReadListener<'_>) -> TripVerification {
    match Trip::open(folder) {
        Ok(trip) => verify_trip(&trip, listener),
        Err(error) => {
            let (mut verified, _) = verify_files(folder, listener);
            verified.add_changed(".", error.to_string());
            verified
        }
    }
}

/// Verifies a trip.
pub(crate) fn verify_trip(trip: &Trip, listener: BytesReadListener<'_>) -> TripVerification {
    let (mut verified, checksums) = verify_files(trip.dir(), listener);
    verify_sound(trip, &checksums, &mut verified, listener);
    verified
}

/// Compares the files that a pull copied with its list of checksums.
fn verify_files(
    folder: &Path,
    listener: BytesReadListener<'_>,
) -> (TripVerification, ChecksumList) {
    let mut verified = TripVerification {
        trip: file_name(folder),
        ..TripVerification::default()
    };
    let checksums = ChecksumList::read(folder).unwrap_or_else(|error| {
        verified.add_changed(".sha256sums", error.message());
        ChecksumList::default()
    });
    let released = RetentionManifest::read(folder).unwrap_or_default();
    for (name, expected) in checksums.all() {
        let packed = released.files.iter().any(|file| file.path == name);
        if !stays_in_folder(name) {
            let what = "its name in the list of checksums leads out of the trip; it was not read";
            verified.add_changed(name, what.into());
            continue;
        }
        match file_checksum(&folder.join(name), listener) {
            Ok(found) => {
                verified.bytes += found.bytes;
                // A pull that is running now stores the new checksum before the file.
                if found.sha256 == expected || is_listed_now(folder, name, &found.sha256) {
                    verified.proven += 1;
                } else {
                    let what = "it has changed since it was copied: its checksum differs";
                    verified.add_changed(name, what.into());
                }
            }
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                if !packed {
                    verified.add_changed(name, "it was copied, and is missing now".into());
                }
            }
            Err(error) => verified.add_changed(name, format!("it cannot be read: {error}")),
        }
    }
    (verified, checksums)
}

fn is_listed_now(folder: &Path, name: &str, sha256: &str) -> bool {
    ChecksumList::read(folder).is_ok_and(|checksums| checksums.checksum(name) == Some(sha256))
}

/// Whether a name in a list of checksums stays within its folder.
fn stays_in_folder(name: &str) -> bool {
    let plain = |part: Component<'_>| matches!(part, Component::Normal(_));
    !name.is_empty() && !name.contains('\\') && Path::new(name).components().all(plain)
}

/// Compares the sound files that are not in the list of checksums, such as those that
/// `keep` packed, with what the board recorded.
fn verify_sound(
    trip: &Trip,
    checksums: &ChecksumList,
    verified: &mut TripVerification,
    listener: BytesReadListener<'_>,
) {
    let recorded = RecordedSamples::by_segment(trip.records());
    for segment in trip.segments() {
        let name = format!("audio/{}", file_name(&segment.path));
        if segment.state == SegmentState::Missing || checksums.checksum(&name).is_some() {
            continue;
        }
        let mut bytes = 0;
        let compared = compare_samples(&segment.path, recorded.get(&segment.number), &mut |more| {
            bytes += more;
            listener(more);
        });
        match compared {
            Ok(SamplesProof::Same) => {
                verified.bytes += bytes;
                verified.proven += 1;
            }
            Ok(SamplesProof::Unknown) => verified.unproven += 1,
            Ok(SamplesProof::Differs) => {
                verified.bytes += bytes;
                let what = "its samples differ from those that were recorded";
                verified.add_changed(&name, what.into());
            }
            Err(error) => verified.add_changed(&name, error.to_string()),
        }
    }
}

impl TripVerification {
    fn add_changed(&mut self, file: &str, what: String) {
        self.wrong.push(ChangedFile {
            file: file.escape_debug().to_string(),
            what,
        });
    }
}

/// What to do about a trip of the library with changed files; `command` begins a command
/// for this home.
pub(crate) fn repair_advice(folder: &Path, command: &str) -> String {
    format!(
        "Restore these files from a backup, or move {} away and `{command} pull` the trip again \
         from its card or board",
        folder.display()
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_of_checksums_leads_nowhere_else() {
        for good in ["trip.json", "audio/000001-rx.wav", "..odd"] {
            assert!(stays_in_folder(good), "{good}");
        }
        for bad in ["", "/etc/passwd", "../x", "audio/../../x", "a\\..\\b", "."] {
            assert!(!stays_in_folder(bad), "{bad}");
        }
    }
}
