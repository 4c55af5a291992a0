//! The health of a trip: what `jumpseat check` prints.

use std::fmt;

use jumpseat_core::journal::{Direction, Event};
use serde::Serialize;

use crate::{Dial, SegmentState, Severity, Timeline, Track, Trip};

/// How good a trip is, in one word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Nothing is wrong.
    Good,
    /// Usable, with doubts that a person should know.
    Doubtful,
    /// No audio of it can be used.
    Broken,
}

/// Audio level of one direction over the whole trip.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LevelReport {
    /// Median of the root mean squares, dB below full scale.
    pub rms_dbfs: f32,
    /// Highest peak, dB below full scale.
    pub peak_dbfs: f32,
    /// Samples at either end of the scale.
    pub clipped: u64,
}

/// Time of the trip.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TimeReport {
    /// UTC of its first sample (RFC 3339).
    pub start: Option<String>,
    /// The uncertainty there, seconds.
    pub uncertainty_s: Option<f64>,
    /// Doubts about it.
    pub doubts: Vec<String>,
}

/// The health of a trip.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// The trip.
    pub trip: String,
    /// In one word.
    pub verdict: Verdict,
    /// Everything that is wrong, in plain words.
    pub damage: Vec<String>,
    /// Seconds of audio that can be read, receive and transmit together.
    pub audio_s: f64,
    /// Seconds of audio known to be lost.
    pub lost_s: f64,
    /// Time.
    pub time: TimeReport,
    /// Position fixes.
    pub position_fixes: usize,
    /// Dial settings.
    pub dial_changes: usize,
    /// Mark presses.
    pub marks: usize,
    /// Receive level.
    pub rx: Option<LevelReport>,
    /// Transmit level.
    pub tx: Option<LevelReport>,
    /// The recorder stopped in order.
    pub ended_in_order: bool,
}

/// Looks a trip over.
pub fn health(trip: &Trip) -> Report {
    let rate = f64::from(trip.header().audio.sample_rate);
    let samples = |missing: bool| {
        let of = |s: &&crate::Segment| (s.state == SegmentState::Missing) == missing;
        let sum: u64 = trip.segments().iter().filter(of).map(|s| s.count).sum();
        sum as f64 / rate
    };
    let start = Timeline::of(trip).at_sample(0);
    let lossy = trip
        .damage()
        .iter()
        .any(|damage| damage.severity() == Severity::Loss);
    let audio_s = samples(false);
    let verdict = if audio_s == 0.0 {
        Verdict::Broken
    } else if lossy || start.value.is_none() || !trip.ended_in_order() {
        Verdict::Doubtful
    } else {
        Verdict::Good
    };
    Report {
        trip: trip.id().to_owned(),
        verdict,
        damage: trip.damage().iter().map(ToString::to_string).collect(),
        audio_s,
        lost_s: samples(true),
        time: TimeReport {
            start: start.value.map(|utc| utc.to_rfc3339()),
            uncertainty_s: start.uncertainty.map(|width| width.as_secs_f64()),
            doubts: start.doubts,
        },
        position_fixes: Track::of(trip).fixes(),
        dial_changes: Dial::of(trip).changes().len(),
        marks: trip.marks().len(),
        rx: level(trip, Direction::Rx),
        tx: level(trip, Direction::Tx),
        ended_in_order: trip.ended_in_order(),
    }
}

fn level(trip: &Trip, wanted: Direction) -> Option<LevelReport> {
    let mut all = Vec::new();
    let mut report = LevelReport {
        rms_dbfs: 0.0,
        peak_dbfs: f32::MIN,
        clipped: 0,
    };
    for record in trip.records() {
        if let Event::Level {
            direction,
            rms_dbfs,
            peak_dbfs,
            clipped,
        } = record.event
            && direction == wanted
        {
            all.push(rms_dbfs);
            report.peak_dbfs = report.peak_dbfs.max(peak_dbfs);
            report.clipped += u64::from(clipped);
        }
    }
    all.sort_by(f32::total_cmp);
    report.rms_dbfs = *all.get(all.len() / 2)?;
    Some(report)
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = match self.verdict {
            Verdict::Good => "good",
            Verdict::Doubtful => "usable with doubts",
            Verdict::Broken => "broken",
        };
        writeln!(f, "{}: {word}", self.trip)?;
        for damage in &self.damage {
            writeln!(f, "  {damage}")?;
        }
        writeln!(
            f,
            "  audio {:.1} s, lost {:.1} s",
            self.audio_s, self.lost_s
        )
    }
}
