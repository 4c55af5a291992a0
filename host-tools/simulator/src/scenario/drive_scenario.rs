//! A whole drive, as values.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use crate::scenario::car_route::CarRoute;
use crate::scenario::episode::DriveEpisode;
use crate::scenario::receiver::ReceiverBehaviour;
use crate::scenario::voice::SpeakerVoice;

/// A drive. All times in seconds from its start, all levels in dB below full scale.
#[derive(Debug, Clone)]
pub struct DriveScenario {
    /// Makes the noise and the small accidents.
    pub seed: u64,
    /// UTC at t = 0.
    pub start: DateTime<Utc>,
    /// Whose drive it is.
    pub station: OperatorStation,
    /// The operator's voice, the same all the way.
    pub voice: SpeakerVoice,
    /// What is said, in order.
    pub episodes: Vec<DriveEpisode>,
    /// Quiet after the last episode.
    pub tail_s: f64,
    /// The drive goes on in quiet at least until then.
    pub least_length_s: f64,
    /// Where the car goes.
    pub road: CarRoute,
    /// How the satellite receiver behaves.
    pub receiver: ReceiverBehaviour,
    /// How things sound.
    pub sound: SoundLevels,
    /// Times that a switch bounces at each edge of the key and the button.
    pub bounces: u32,
    /// A tone in the receive audio at the start and the end, to count samples by.
    pub marker: Option<ToneMarker>,
    /// What people on the next channel say.
    pub neighbour: Option<(SpeakerVoice, String)>,
}

/// The operator's station.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OperatorStation {
    /// Call sign as licensed.
    pub call: String,
    /// Call sign of the operator.
    pub operator: String,
}

/// Levels of the drive, in dB below full scale.
#[derive(Debug, Clone, Copy)]
pub struct SoundLevels {
    /// Active speech level of both channels.
    pub speech_dbfs: f32,
    /// Noise of the band in the receive channel on sideband.
    pub band_noise_dbfs: f32,
    /// Road and engine in the operator's microphone.
    pub road_noise_dbfs: f32,
    /// Noise of the sound card itself in both channels.
    pub floor_dbfs: f32,
    /// The key is down this long before the operator speaks, and after.
    pub key_lead_s: f64,
}

/// A tone at both ends of the receive audio.
#[derive(Debug, Clone, Copy)]
pub struct ToneMarker {
    /// Its frequency in hertz.
    pub hz: f64,
    /// Its length in seconds.
    pub length_s: f64,
    /// From the start of the drive to the first tone, and from the last to the end.
    pub margin_s: f64,
    /// Its level.
    pub dbfs: f32,
}
