//! Makes the input of the draft from a trip: overs, where speech is in them, and what was said.

use std::path::Path;

use anyhow::Result;
use jumpseat_draft::{AssemblyInput, DialChange, DriveOver, OverDirection, SpeechActivity};
use jumpseat_entries::{OwnStation, home_call};
use jumpseat_place::callsign;
use jumpseat_speech::activity::{SAMPLE_RATE, SpeechDetector};
use jumpseat_trip::{
    AudioSegment, DialHistory, SegmentState, SoundBlocks, SoundLevelMeter, Trip, TripError,
};
use jumpseat_values::{AudioSide, Doubt, RecordingDoubt, Span};

use super::hear;
use super::kept_hearings::HearTask;
use crate::clock;
use crate::progress::ProgressLine;

/// The input of the draft, and doubts about it.
pub(super) struct HeardDrive {
    pub(super) drive: AssemblyInput,
    pub(super) doubts: Vec<Doubt>,
    /// The sound of each over of the drive.
    pub(super) tasks: Vec<HearTask>,
}

/// Listens to every over of a trip, with one block of it in memory at a time, and then hears
/// what is said in its speech. `own` is from the station file, and `kept` is the folder where
/// what was heard is stored.
pub(super) fn listen(trip: &Trip, own: &OwnStation, kept: &Path) -> Result<HeardDrive> {
    let overs = trip.overs();
    let rate = f64::from(trip.header().audio.sample_rate);
    let mut doubts = Vec::new();
    let right_rate = trip.header().audio.sample_rate == SAMPLE_RATE;
    if !right_rate && !overs.is_empty() {
        let doubt = RecordingDoubt::SampleRate {
            found: trip.header().audio.sample_rate,
            wanted: SAMPLE_RATE,
        };
        doubts.push(doubt.into());
    }
    let progress = ProgressLine::new(
        "listening",
        overs.iter().map(|over| over.count).sum(),
        false,
    );
    // Each direction has its own noise floor.
    let (mut received, mut sent) = (DirectionEar::new(), DirectionEar::new());
    let mut tasks = Vec::new();
    let mut signs = own_signs(trip, own).into_iter();
    let mut drive = AssemblyInput {
        broke_off: !trip.ended_in_order(),
        own: signs.next(),
        also_own: signs.collect(),
        ..AssemblyInput::default()
    };
    for over in &overs {
        let start_s = over.first_sample as f64 / rate;
        let end_s = over.end() as f64 / rate;
        let direction = match over.direction {
            jumpseat_trip::AudioDirection::Tx => OverDirection::Tx,
            jumpseat_trip::AudioDirection::Rx => OverDirection::Rx,
        };
        let ear = match direction {
            OverDirection::Tx => &mut sent,
            OverDirection::Rx => &mut received,
        };
        let spans = if right_rate {
            speech(trip, &over.segments, ear, &progress, &mut doubts)?
        } else {
            Vec::new()
        };
        let lost: u64 = over.lost.iter().map(|lost| lost.count).sum();
        let unheard = !right_rate || spans.is_empty() && lost * 2 > over.count;
        tasks.push(HearTask {
            direction: over.direction,
            first_sample: over.first_sample,
            count: over.count,
            speech: spans
                .iter()
                .map(|span| (span.start_s - start_s, span.end_s - start_s))
                .collect(),
        });
        let activity = match direction {
            OverDirection::Tx => SpeechActivity::Found(Vec::new()),
            OverDirection::Rx if unheard => SpeechActivity::Unknown,
            OverDirection::Rx => SpeechActivity::Found(spans),
        };
        drive.length_s = drive.length_s.max(end_s);
        drive.overs.push(DriveOver {
            direction,
            start_s,
            end_s,
            activity,
            heard: None,
        });
    }
    drop(progress);
    for (side, ear) in [(AudioSide::Receive, received), (AudioSide::Transmit, sent)] {
        let doubt = ear.level.report().and_then(|level| level.doubt(side));
        doubts.extend(doubt.map(Doubt::from));
    }
    let results = hear::hear(trip, &tasks, kept)?;
    for (over, heard) in drive.overs.iter_mut().zip(results.heard) {
        over.heard = heard;
    }
    doubts.extend(results.doubts.into_iter().map(Doubt::Other));
    let timeline = clock::timeline(trip);
    let at_s = |mono_ns| timeline.sample_of_mono(mono_ns) as f64 / rate;
    drive.marks = trip.marks().into_iter().map(at_s).collect();
    drive.dial = DialHistory::of(trip)
        .changes()
        .into_iter()
        .map(|change| DialChange {
            at_s: at_s(change.mono_ns),
            setting: Some(change.setting),
        })
        .collect();
    Ok(HeardDrive {
        drive,
        doubts,
        tasks,
    })
}

/// The operator's own call signs, each once. Those of the board's config come first, because
/// they are of the day of the drive.
fn own_signs(trip: &Trip, own: &OwnStation) -> Vec<String> {
    let station = &trip.header().station;
    let told = [&station.call, &station.operator, &own.call, &own.operator];
    let mut signs: Vec<String> = Vec::new();
    for text in told.into_iter().flatten() {
        // What cannot be a call sign was not said as one.
        if let Some(sign) = callsign::parse(text).ok().and_then(|parsed| parsed.value) {
            let sign = sign.to_string();
            // What follows a stroke is not always said.
            let home = home_call(&sign);
            for sign in [sign, home] {
                if !signs.contains(&sign) {
                    signs.push(sign);
                }
            }
        }
    }
    signs
}

/// Finds speech in one direction.
struct DirectionEar {
    detector: SpeechDetector,
    level: SoundLevelMeter,
}

impl DirectionEar {
    fn new() -> Self {
        Self {
            detector: SpeechDetector::new(),
            level: SoundLevelMeter::default(),
        }
    }
}

/// Stretches of speech in the segments of one over, in seconds of trip time. A
/// segment that cannot be read becomes a doubt, and the rest of the trip is listened to.
fn speech(
    trip: &Trip,
    numbers: &[u32],
    ear: &mut DirectionEar,
    progress: &ProgressLine,
    doubts: &mut Vec<Doubt>,
) -> Result<Vec<Span>> {
    let rate = f64::from(SAMPLE_RATE);
    let mut spans = Vec::new();
    // Where the audio that the detector holds begins, and where it ends.
    let mut held: Option<(u64, u64)> = None;
    let mut take = |detector: &mut SpeechDetector, held: &mut Option<(u64, u64)>| {
        if let Some((first, _)) = held.take() {
            let start_s = first as f64 / rate;
            spans.extend(
                detector
                    .finish()
                    .iter()
                    .map(|found| Span::new(start_s + found.start_s, start_s + found.end_s)),
            );
        }
    };
    let segments = trip
        .segments()
        .iter()
        .filter(|segment| numbers.contains(&segment.number));
    for segment in segments {
        progress.add(segment.count);
        if segment.state == SegmentState::Missing {
            continue;
        }
        if held.is_none_or(|(_, end)| end != segment.first_sample) {
            take(&mut ear.detector, &mut held);
        }
        let first = held.map_or(segment.first_sample, |(first, _)| first);
        let (count, error) = read(segment, ear);
        if count > 0 {
            held = Some((first, segment.first_sample + count));
        }
        doubts.extend(error.map(|error| Doubt::Other(error.to_string())));
    }
    take(&mut ear.detector, &mut held);
    Ok(spans)
}

/// Listens to one file, block by block, because a file may be larger than memory. Returns how
/// many samples there were, and why there were no more.
fn read(segment: &AudioSegment, ear: &mut DirectionEar) -> (u64, Option<TripError>) {
    let mut count = 0;
    let blocks = match SoundBlocks::open(&segment.path, segment.count) {
        Ok(blocks) => blocks,
        Err(error) => return (count, Some(error)),
    };
    let mut error = None;
    for samples in blocks {
        match samples {
            Ok(samples) => {
                ear.level.add_part(&samples);
                ear.detector.push(&samples);
                count += samples.len() as u64;
            }
            Err(other) => error = Some(other),
        }
    }
    ear.level.end_piece();
    (count, error)
}
