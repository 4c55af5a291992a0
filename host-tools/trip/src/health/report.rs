//! The figures of a trip's health, as `--json` has them.

use jumpseat_core::journal::RecorderFault;
use jumpseat_values::Doubt;
use serde::Serialize;

use super::level::SoundLevel;
use crate::TimeQuality;

/// How good a trip is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum HealthVerdict {
    /// Nothing of the drive is lost, and every time is known.
    Good,
    /// Usable, with doubts that a person should know.
    Doubtful,
    /// No audio of it can be used.
    Broken,
}

/// What is known of the trip's time.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TimeHealth {
    /// UTC of its first sample (RFC 3339), if known.
    pub start: Option<String>,
    /// UTC of its last sample.
    pub end: Option<String>,
    /// The largest uncertainty at the start of an over, seconds.
    pub worst_uncertainty_s: Option<f64>,
    /// What the times rest on.
    pub quality: TimeQuality,
}

/// What is known of the trip's places.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlaceHealth {
    /// Position fixes.
    pub fixes: usize,
    /// The longest time without one, seconds, start and end included.
    pub longest_without_s: f64,
    /// Overs at whose start the place is known without a doubt.
    pub overs_known: usize,
}

/// What is known of the dial.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DialHealth {
    /// Different settings, counted as often as they came.
    pub changes: usize,
    /// Overs at whose start the setting is known without a doubt.
    pub overs_known: usize,
}

/// One kind of trouble that the recorder reported.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FaultHealth {
    /// What.
    pub fault: RecorderFault,
    /// How often.
    pub times: usize,
    /// It was still so at the end.
    pub lasting: bool,
    /// What the recorder said of the first.
    pub detail: String,
}

/// The health of a trip. `Display` says it in plain words.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HealthReport {
    /// The trip's name.
    pub trip: String,
    /// In one word.
    pub verdict: HealthVerdict,
    /// Why it is not good, in plain words.
    pub doubts: Vec<Doubt>,
    /// Everything that is damaged, in plain words.
    pub damage: Vec<String>,
    /// Seconds of the trip from its first to its last sample, lost ones included.
    pub length_s: f64,
    /// Seconds of receive audio that can be read.
    pub rx_s: f64,
    /// Seconds of transmit audio that can be read.
    pub tx_s: f64,
    /// Seconds of the trip of which there is no audio.
    pub lost_s: f64,
    /// Receive overs.
    pub rx_overs: usize,
    /// Transmit overs.
    pub tx_overs: usize,
    /// Mark presses.
    pub marks: usize,
    /// Time.
    pub time: TimeHealth,
    /// Place.
    pub place: PlaceHealth,
    /// Dial.
    pub dial: DialHealth,
    /// Receive level; `None` without receive audio.
    pub rx: Option<SoundLevel>,
    /// Transmit level; `None` without transmit audio.
    pub tx: Option<SoundLevel>,
    /// Trouble that the recorder reported.
    pub faults: Vec<FaultHealth>,
    /// The recorder wrote its last record in order.
    pub ended_in_order: bool,
}
