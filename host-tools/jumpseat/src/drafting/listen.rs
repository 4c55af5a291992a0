//! What the draft room is told of a trip: overs, and where speech is in them.

use anyhow::Result;
use jumpseat_draft::{Activity, DialChange, DialSetting, Direction, Drive, Over, Span};
use jumpseat_hear::activity::{Detector, SAMPLE_RATE};
use jumpseat_trip::{Dial, Segment, SegmentState, Trip};

use crate::clock;
use crate::progress::Progress;

/// A drive as the draft room wants it, and doubts about the listening.
pub(super) struct Heard {
    pub(super) drive: Drive,
    pub(super) doubts: Vec<String>,
}

/// Listens to every received over of a trip, one segment in memory at a time.
pub(super) fn listen(trip: &Trip) -> Result<Heard> {
    let overs = trip.overs();
    let rate = f64::from(trip.header().audio.sample_rate);
    let mut doubts = Vec::new();
    let right_rate = trip.header().audio.sample_rate == SAMPLE_RATE;
    if !right_rate && !overs.is_empty() {
        doubts.push(format!(
            "the sound has {rate} samples a second; speech is looked for at {SAMPLE_RATE} only"
        ));
    }
    let received: u64 = overs
        .iter()
        .filter(|over| over.direction == jumpseat_trip::Direction::Rx)
        .map(|over| over.count)
        .sum();
    let progress = Progress::new("listening", received, false);
    let mut detector = Detector::new();
    let mut drive = Drive {
        broke_off: !trip.ended_in_order(),
        own: trip.header().station.call.clone(),
        ..Drive::default()
    };
    for over in &overs {
        let start_s = over.first_sample as f64 / rate;
        let end_s = over.end() as f64 / rate;
        let direction = match over.direction {
            jumpseat_trip::Direction::Tx => Direction::Tx,
            jumpseat_trip::Direction::Rx => Direction::Rx,
        };
        let activity = match direction {
            Direction::Tx => Activity::Found(Vec::new()),
            Direction::Rx if !right_rate => Activity::Unknown,
            Direction::Rx => {
                let spans = speech(trip, &over.segments, &mut detector, &progress, &mut doubts)?;
                let lost: u64 = over.lost.iter().map(|lost| lost.count).sum();
                if spans.is_empty() && lost * 2 > over.count {
                    Activity::Unknown
                } else {
                    Activity::Found(spans)
                }
            }
        };
        drive.length_s = drive.length_s.max(end_s);
        drive.overs.push(Over {
            direction,
            start_s,
            end_s,
            activity,
            heard: None,
        });
    }
    let timeline = clock::timeline(trip);
    let at_s = |mono_ns| timeline.sample_of_mono(mono_ns) as f64 / rate;
    drive.marks = trip.marks().into_iter().map(at_s).collect();
    drive.dial = Dial::of(trip)
        .changes()
        .into_iter()
        .map(|change| DialChange {
            at_s: at_s(change.mono_ns),
            setting: Some(DialSetting {
                hz: change.setting.hz,
                mode: change.setting.mode,
            }),
        })
        .collect();
    Ok(Heard { drive, doubts })
}

/// Stretches of speech in the segments of one over, in seconds of trip time. A
/// segment that cannot be read is passed over with a doubt: it must not cost the
/// rest of the trip.
fn speech(
    trip: &Trip,
    numbers: &[u32],
    detector: &mut Detector,
    progress: &Progress,
    doubts: &mut Vec<String>,
) -> Result<Vec<Span>> {
    let rate = f64::from(SAMPLE_RATE);
    let mut spans = Vec::new();
    // Where the audio that the detector holds begins, and where it ends.
    let mut held: Option<(u64, u64)> = None;
    let mut take = |detector: &mut Detector, held: &mut Option<(u64, u64)>| {
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
        let Some(samples) = read(trip, segment, doubts) else {
            continue;
        };
        if held.is_none_or(|(_, end)| end != segment.first_sample) {
            take(detector, &mut held);
        }
        detector.push(&samples);
        let first = held.map_or(segment.first_sample, |(first, _)| first);
        held = Some((first, segment.first_sample + samples.len() as u64));
    }
    take(detector, &mut held);
    Ok(spans)
}

fn read(trip: &Trip, segment: &Segment, doubts: &mut Vec<String>) -> Option<Vec<i16>> {
    if segment.state == SegmentState::Missing {
        return None;
    }
    match trip.read_segment(segment.number) {
        Ok(samples) => Some(samples),
        Err(error) => {
            doubts.push(error.to_string());
            None
        }
    }
}
