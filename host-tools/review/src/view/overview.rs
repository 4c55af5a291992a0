//! An overview of a trip: what happened when, in seconds of trip time.

use chrono::{DateTime, Utc};
use jumpseat_draft::{AssemblyInput, SpeechActivity};
use jumpseat_trip::{
    AudioDirection, DamageSeverity, DialHistory, JournalEvent, Over, Timeline, Track, Trip,
};
use jumpseat_values::{DialSetting, Doubt, Position, RecordingDoubt};

/// A stretch of trip time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct TripStretch {
    pub(crate) from_s: f64,
    pub(crate) to_s: f64,
}

/// Something that went wrong on the way.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct TripTrouble {
    pub(crate) at_s: f64,
    /// When it ended; `None` if it lasted to the end.
    pub(crate) until_s: Option<f64>,
    pub(crate) words: String,
}

/// An overview of a trip.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct TripOverview {
    pub(crate) length_s: f64,
    pub(crate) begins: Option<DateTime<Utc>>,
    pub(crate) ends: Option<DateTime<Utc>>,
    pub(crate) sent: Vec<TripStretch>,
    pub(crate) received: Vec<TripStretch>,
    /// Received speech.
    pub(crate) speech: Vec<TripStretch>,
    pub(crate) marks_s: Vec<f64>,
    pub(crate) dial: Vec<(f64, DialSetting)>,
    pub(crate) lost: Vec<TripStretch>,
    pub(crate) troubles: Vec<TripTrouble>,
    /// Parts of the route, each without a gap of more than a minute.
    pub(crate) way: Vec<Vec<Position>>,
    /// Doubts about the whole trip.
    pub(crate) doubts: Vec<Doubt>,
}

impl TripOverview {
    pub(crate) fn of(trip: &Trip, timeline: &Timeline, drive: Option<&AssemblyInput>) -> Self {
        let rate = f64::from(trip.header().audio.sample_rate);
        let seconds = |sample: u64| sample as f64 / rate;
        let at = |mono_ns: u64| seconds(timeline.sample_of_mono(mono_ns));
        let overs = trip.overs();
        let end = overs.iter().map(Over::end).max().unwrap_or(0);
        let first = overs.first().map_or(0, |over| over.first_sample);
        let mut glance = Self {
            length_s: seconds(end),
            begins: timeline.at_sample(first).value,
            ends: timeline.at_sample(end).value,
            marks_s: trip.marks().into_iter().map(at).collect(),
            dial: DialHistory::of(trip)
                .changes()
                .into_iter()
                .map(|change| (at(change.mono_ns), change.setting))
                .collect(),
            speech: drive.map(speech).unwrap_or_default(),
            troubles: troubles(trip, &at),
            way: way(trip),
            ..Self::default()
        };
        for over in &overs {
            let stretch = TripStretch {
                from_s: seconds(over.first_sample),
                to_s: seconds(over.end()),
            };
            match over.direction {
                AudioDirection::Tx => glance.sent.push(stretch),
                AudioDirection::Rx => glance.received.push(stretch),
            }
            glance.lost.extend(over.lost.iter().map(|lost| TripStretch {
                from_s: seconds(lost.first_sample),
                to_s: seconds(lost.first_sample + lost.count),
            }));
        }
        if glance.begins.is_none() {
            glance.doubts.push(RecordingDoubt::NoDate.into());
        }
        if !trip.ended_in_order() {
            glance.doubts.push(RecordingDoubt::BrokeOff.into());
        }
        if drive.is_none() {
            glance.doubts.push(RecordingDoubt::NotKept.into());
        }
        let damage = trip.damage().iter();
        let loss = damage.filter(|damage| damage.severity() == DamageSeverity::Loss);
        let loss = loss.map(|damage| Doubt::Other(damage.to_string()));
        glance.doubts.extend(loss);
        glance
    }
}

fn speech(drive: &AssemblyInput) -> Vec<TripStretch> {
    let overs = drive.overs.iter();
    overs
        .filter_map(|over| match &over.activity {
            SpeechActivity::Found(spans) => Some(spans),
            SpeechActivity::Unknown => None,
        })
        .flatten()
        .map(|span| TripStretch {
            from_s: span.start_s,
            to_s: span.end_s,
        })
        .collect()
}

fn troubles(trip: &Trip, at: &impl Fn(u64) -> f64) -> Vec<TripTrouble> {
    let mut troubles = Vec::new();
    // Faults that last, each with its index in the list.
    let mut lasting = Vec::new();
    for record in trip.records() {
        match &record.event {
            JournalEvent::Fault { fault, detail } => {
                lasting.push((*fault, troubles.len()));
                troubles.push(TripTrouble {
                    at_s: at(record.mono_ns),
                    until_s: None,
                    words: detail.as_str().to_owned(),
                });
            }
            JournalEvent::Recovery { fault, .. } => {
                let until = at(record.mono_ns);
                lasting.retain(|(which, index)| {
                    if which == fault
                        && let Some(trouble) = troubles.get_mut(*index)
                    {
                        trouble.until_s = Some(until);
                    }
                    which != fault
                });
            }
            _ => {}
        }
    }
    troubles
}

fn way(trip: &Trip) -> Vec<Vec<Position>> {
    let lines = Track::of(trip).lines().into_iter();
    lines
        .map(|line| line.into_iter().map(|(_, position)| position).collect())
        .collect()
}
