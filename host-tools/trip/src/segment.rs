//! Brings the journal's segments and the sound files of a trip together.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, FileType};
use std::io;
use std::path::{Path, PathBuf};

use jumpseat_core::journal::{AudioDirection, JournalEvent, JournalRecord};

use crate::journal::segment_of_name;
use crate::sound_file::{self, SoundContent};
use crate::{TripAudioFormat, TripDamage, TripError};

/// One audio file of a trip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AudioSegment {
    /// Number in the file's name, from 1.
    pub number: u32,
    /// Which way the audio went.
    pub direction: AudioDirection,
    /// Sample count of its first sample, from the first sample of the trip.
    pub first_sample: u64,
    /// Samples that can be read; for a missing file what the journal promised, or
    /// what there is room for before the next, or 0.
    pub count: u64,
    /// The file; for a missing one where it should be.
    pub path: PathBuf,
    /// How complete it is.
    pub state: SegmentState,
}

/// How complete a segment is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SegmentState {
    /// Closed in order, and the file holds what the journal says.
    Closed,
    /// Not closed, or shorter than promised: `count` is what is really there.
    Salvaged,
    /// The file is missing or is not a sound file.
    Missing,
}

impl AudioSegment {
    /// The sample count after its last sample.
    pub fn end(&self) -> u64 {
        self.first_sample.saturating_add(self.count)
    }
}

/// The segments of a trip and what is wrong with them.
#[derive(Debug, Default)]
pub(crate) struct GatheredSegments {
    pub segments: Vec<AudioSegment>,
    pub damage: Vec<TripDamage>,
}

/// What the journal knows of one segment.
#[derive(Debug, Clone, Copy)]
struct JournalledSegment {
    direction: AudioDirection,
    first_sample: u64,
    /// Known when the recorder closed or abandoned it.
    count: Option<u64>,
    /// The recorder abandoned it: samples of the file beyond `count` stand in another file.
    abandoned: bool,
}

/// Brings the journal's records and the sound `files` of a trip together. Those that
/// are `gone` were removed on purpose: that they are missing is no damage.
pub(crate) fn gather(
    dir: &Path,
    records: &[JournalRecord],
    form: TripAudioFormat,
    gone: &BTreeSet<&str>,
    mut files: SegmentFiles,
) -> GatheredSegments {
    let told = journalled_segments(records);
    let mut out = GatheredSegments::default();
    for (&number, &told) in &told {
        let file = files.remove(&number);
        let path = format!("audio/{number:06}-{}.wav", told.direction.name());
        if file.is_none() && gone.contains(path.as_str()) {
            out.segments.push(AudioSegment {
                number,
                direction: told.direction,
                first_sample: told.first_sample,
                count: told.count.unwrap_or(0),
                path: dir.join(path),
                state: SegmentState::Missing,
            });
            continue;
        }
        add_journalled(dir, number, told, file, form, &mut out);
    }
    out.segments.sort_by_key(|segment| segment.first_sample);
    for (number, file) in files {
        add_unrecorded(number, file, form, &mut out);
    }
    out.segments
        .sort_by_key(|segment| (segment.first_sample, segment.number));
    measure_missing(&mut out.segments);
    overlaps(&mut out);
    out
}

fn journalled_segments(records: &[JournalRecord]) -> BTreeMap<u32, JournalledSegment> {
    let mut told = BTreeMap::new();
    for record in records {
        match record.event {
            JournalEvent::SegmentOpened {
                segment,
                direction,
                first_sample,
            } => {
                told.entry(segment).or_insert(JournalledSegment {
                    direction,
                    first_sample,
                    count: None,
                    abandoned: false,
                });
            }
            JournalEvent::SegmentClosed {
                segment,
                direction,
                first_sample,
                count,
            }
            | JournalEvent::SegmentAbandoned {
                segment,
                direction,
                first_sample,
                count,
            } => {
                told.insert(
                    segment,
                    JournalledSegment {
                        direction,
                        first_sample,
                        count: Some(count),
                        abandoned: matches!(record.event, JournalEvent::SegmentAbandoned { .. }),
                    },
                );
            }
            _ => {}
        }
    }
    told
}

/// The sound files of a trip by their numbers.
pub(crate) type SegmentFiles = BTreeMap<u32, SegmentSoundFile>;

/// A sound file and what is in it.
#[derive(Debug)]
pub(crate) struct SegmentSoundFile {
    /// By its name.
    direction: AudioDirection,
    path: PathBuf,
    /// `Err` says why it is no sound file.
    held: Result<SoundContent, String>,
}

/// How many files say that they hold such audio.
pub(crate) fn count_formats(files: &SegmentFiles) -> BTreeMap<TripAudioFormat, usize> {
    let mut forms = BTreeMap::new();
    for held in files.values().flat_map(|file| &file.held) {
        *forms.entry(held.form).or_insert(0) += 1;
    }
    forms
}

/// Looks into the sound files. Anything else in the folder is an extra file; of a
/// WAV and a FLAC of one number the WAV, which the board wrote, is taken.
pub(crate) fn list_sound_files(
    audio: &Path,
    damage: &mut Vec<TripDamage>,
) -> Result<SegmentFiles, TripError> {
    let io_error = |source| TripError::Io {
        path: audio.to_owned(),
        doing: "list the folder",
        source,
    };
    // A link may lead out of the trip, to any other.
    match audio.symlink_metadata() {
        Ok(data) if !data.is_dir() => {
            let path = audio.to_owned();
            damage.push(TripDamage::NotOrdinary { path });
            return Ok(SegmentFiles::new());
        }
        _ => {}
    }
    let entries = match fs::read_dir(audio) {
        Ok(entries) => entries,
        // Without the folder every segment is missing, and is reported as such.
        Err(error)
            if matches!(
                error.kind(),
                io::ErrorKind::NotFound | io::ErrorKind::NotADirectory
            ) =>
        {
            return Ok(SegmentFiles::new());
        }
        Err(error) => return Err(io_error(error)),
    };
    let mut names = Vec::new();
    for entry in entries {
        names.push(entry.map_err(io_error)?.file_name());
    }
    // "…-rx.wav" comes after "…-rx.flac" and so takes its place.
    names.sort_unstable();
    let mut files = SegmentFiles::new();
    for name in names {
        let path = audio.join(&name);
        let name = name.to_string_lossy();
        let kind = path.symlink_metadata().map(|data| data.file_type());
        let is = |what: fn(&FileType) -> bool| kind.as_ref().is_ok_and(what);
        match segment_of_name(&name) {
            Some((number, direction, _)) if is(FileType::is_file) => {
                let held = sound_file::inspect(&path);
                let file = SegmentSoundFile {
                    direction,
                    path,
                    held,
                };
                if let Some(SegmentSoundFile { path, .. }) = files.insert(number, file) {
                    damage.push(TripDamage::ExtraFile { path });
                }
            }
            Some(_) if !is(FileType::is_dir) => damage.push(TripDamage::NotOrdinary { path }),
            None if name.starts_with('.') => {}
            _ => damage.push(TripDamage::ExtraFile { path }),
        }
    }
    Ok(files)
}

/// A segment that the journal names.
fn add_journalled(
    dir: &Path,
    number: u32,
    told: JournalledSegment,
    file: Option<SegmentSoundFile>,
    form: TripAudioFormat,
    out: &mut GatheredSegments,
) {
    let missing = |path: PathBuf| AudioSegment {
        number,
        direction: told.direction,
        first_sample: told.first_sample,
        count: told.count.unwrap_or(0),
        path,
        state: SegmentState::Missing,
    };
    // Nothing of it was ever safe: the samples stand in the next file.
    if told.abandoned && told.count == Some(0) {
        return;
    }
    let Some(SegmentSoundFile {
        direction,
        path,
        held,
    }) = file
    else {
        let name = format!("{number:06}-{}.wav", told.direction.name());
        let path = dir.join("audio").join(name);
        out.damage.push(TripDamage::SegmentMissing {
            path: path.clone(),
            expected: told.count,
        });
        out.segments.push(missing(path));
        return;
    };
    if direction != told.direction {
        out.damage.push(TripDamage::SegmentDirection {
            path: path.clone(),
            journal: told.direction,
        });
    }
    let held = match usable(held, form) {
        Ok(held) => held,
        Err(reason)
            if told
                .count
                .is_some_and(|count| sound_file::has_length_of(&path, count)) =>
        {
            let count = told.count.unwrap_or(0);
            let path = path.clone();
            out.damage.push(TripDamage::SegmentHeader { path, reason });
            SoundContent {
                form,
                present: count,
                declared: count,
            }
        }
        Err(reason) => {
            out.damage.push(TripDamage::SegmentUnreadable {
                path: path.clone(),
                reason,
                expected: told.count,
            });
            out.segments.push(missing(path));
            return;
        }
    };
    let (count, state) = match told.count {
        None => {
            out.damage.push(TripDamage::SegmentNotClosed {
                path: path.clone(),
                found: held.present,
            });
            (held.present, SegmentState::Salvaged)
        }
        Some(expected) if held.present < expected => {
            out.damage.push(TripDamage::SegmentShort {
                path: path.clone(),
                expected,
                found: held.present,
            });
            (held.present, SegmentState::Salvaged)
        }
        Some(expected) if told.abandoned => (expected, SegmentState::Salvaged),
        Some(expected) => {
            if held.declared != expected {
                out.damage.push(TripDamage::SegmentLength {
                    path: path.clone(),
                    header: held.declared,
                    expected,
                });
            }
            (expected, SegmentState::Closed)
        }
    };
    let used = used(&path, count, form, out);
    out.segments.push(AudioSegment {
        number,
        direction: told.direction,
        first_sample: told.first_sample,
        count: used,
        path,
        state: if used < count {
            SegmentState::Salvaged
        } else {
            state
        },
    });
}

/// What is in a file, if it is sound of this trip.
fn usable(
    held: Result<SoundContent, String>,
    form: TripAudioFormat,
) -> Result<SoundContent, String> {
    let held = held?;
    held.fits(form)?;
    Ok(held)
}

/// How many samples of a file are used: no recorder writes more than five minutes into
/// one, and an hour is plenty.
fn used(path: &Path, count: u64, form: TripAudioFormat, out: &mut GatheredSegments) -> u64 {
    let most = u64::from(form.sample_rate) * 3_600;
    if count <= most {
        return count;
    }
    out.damage.push(TripDamage::SegmentLong {
        path: path.to_owned(),
        found: count,
        used: most,
    });
    most
}

/// A sound file whose records are lost: segments follow each other without a
/// break, so its neighbours in number say where it belongs.
fn add_unrecorded(
    number: u32,
    file: SegmentSoundFile,
    form: TripAudioFormat,
    out: &mut GatheredSegments,
) {
    let SegmentSoundFile {
        direction,
        path,
        held,
    } = file;
    let held = match usable(held, form) {
        Ok(held) => held,
        Err(reason) => {
            out.damage.push(TripDamage::SegmentUnreadable {
                path,
                reason,
                expected: None,
            });
            return;
        }
    };
    let found = used(&path, held.present, form, out);
    let neighbour = |number: Option<u32>| {
        out.segments
            .iter()
            .find(|segment| Some(segment.number) == number)
    };
    let after_previous = match number.checked_sub(1) {
        Some(0) => Some(0),
        previous => neighbour(previous)
            .filter(|segment| segment.state != SegmentState::Missing)
            .map(AudioSegment::end),
    };
    let before_next = neighbour(number.checked_add(1))
        .and_then(|segment| segment.first_sample.checked_sub(found));
    let placed = after_previous.or(before_next);
    out.damage.push(TripDamage::SegmentUnrecorded {
        path: path.clone(),
        found,
        placed,
    });
    if let Some(first_sample) = placed {
        out.segments.push(AudioSegment {
            number,
            direction,
            first_sample,
            count: found,
            path,
            state: SegmentState::Salvaged,
        });
    }
}

/// A missing file whose length nobody wrote down ends where the next one begins.
fn measure_missing(segments: &mut [AudioSegment]) {
    for at in 1..segments.len() {
        let next = segments[at].first_sample;
        let segment = &mut segments[at - 1];
        if segment.state == SegmentState::Missing && segment.count == 0 {
            segment.count = next.saturating_sub(segment.first_sample);
        }
    }
}

fn overlaps(out: &mut GatheredSegments) {
    for pair in out.segments.windows(2) {
        if let Some(samples) = pair[0].end().checked_sub(pair[1].first_sample)
            && samples > 0
        {
            out.damage.push(TripDamage::SegmentOverlap {
                path: pair[1].path.clone(),
                samples,
            });
        }
    }
}
