//! What happens on a drive, as values: who talks, over what path, past what tunnel.

mod first_drive;
mod stations;

use chrono::{DateTime, Utc};
use jumpseat_core::journal::Direction;
use serde::{Deserialize, Serialize};

pub use first_drive::{demo, live, of_hours, short};

/// A drive. All times in seconds from its start, all levels in dB below full scale.
#[derive(Debug, Clone)]
pub struct Scenario {
    /// Makes the noise and the small accidents.
    pub seed: u64,
    /// UTC at t = 0.
    pub start: DateTime<Utc>,
    /// Whose drive it is.
    pub station: Station,
    /// The operator's voice, the same all the way.
    pub voice: Voice,
    /// What is said, in order.
    pub episodes: Vec<Episode>,
    /// Quiet after the last episode.
    pub tail_s: f64,
    /// The drive goes on in quiet at least until then.
    pub least_length_s: f64,
    /// Where the car goes.
    pub road: Road,
    /// How the satellite receiver behaves.
    pub receiver: Receiver,
    /// How things sound.
    pub sound: Sound,
    /// Times that a switch bounces at each edge of the key and the button.
    pub bounces: u32,
    /// A tone in the receive audio at the start and the end, to count samples by.
    pub marker: Option<Marker>,
}

/// The operator's station.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Station {
    /// Call sign as licensed.
    pub call: String,
    /// Call sign of the operator.
    pub operator: String,
}

/// A voice of the speech program.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Voice {
    /// Its name there, such as "en-us+m3".
    pub name: String,
    /// Words a minute.
    pub speed: u32,
    /// 0 to 99, 50 is usual.
    pub pitch: u32,
}

/// Frequency and mode.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Dial {
    /// Frequency in hertz.
    pub hz: u64,
    /// Rig control's word: "USB", "LSB", "FM".
    pub mode: String,
}

/// A stretch of the drive on one dial setting.
#[derive(Debug, Clone)]
pub struct Episode {
    /// It starts no earlier than this.
    pub not_before_s: f64,
    /// The dial is there this long before the first over.
    pub settled_s: f64,
    /// Where the dial stands.
    pub dial: Dial,
    /// How the other station arrives.
    pub path: Path,
    /// Who speaks.
    pub overs: Vec<Over>,
    /// What the log should hold; `None` for a call that nobody answered.
    pub contact: Option<Contact>,
    /// Presses of the button, in seconds after the end of the last over.
    pub marks_s: Vec<f64>,
}

/// One turn of transmission.
#[derive(Debug, Clone)]
pub struct Over {
    /// Who speaks: the operator (`Tx`) or the other station (`Rx`).
    pub direction: Direction,
    /// Silence since the over before.
    pub pause_s: f64,
    /// The words, ready to be spoken.
    pub text: String,
}

/// What is true of a contact.
#[derive(Debug, Clone)]
pub struct Contact {
    /// The other station's call sign.
    pub call: String,
    /// Report given.
    pub sent: String,
    /// Report received.
    pub received: String,
    /// The other operator's name, where it was said.
    pub name: Option<String>,
    /// The other operator's voice.
    pub voice: Voice,
}

/// The way from the other transmitter to the loudspeaker.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Path {
    /// Single sideband: steady noise, slow fading.
    Ssb {
        /// Active speech level over noise in 300 to 2,700 Hz, in dB.
        snr_db: f32,
        /// Depth of the fading, from top to bottom, in dB.
        fading_db: f32,
    },
    /// Frequency modulation: silent until a carrier opens the squelch.
    Fm {
        /// Active speech level over noise while the carrier stands, in dB.
        snr_db: f32,
        /// Noise burst after the carrier drops, in seconds.
        squelch_tail_s: f64,
    },
}

/// Levels of the drive, in dB below full scale.
#[derive(Debug, Clone, Copy)]
pub struct Sound {
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
pub struct Marker {
    /// Its frequency in hertz.
    pub hz: f64,
    /// Its length in seconds.
    pub length_s: f64,
    /// From the start of the drive to the first tone, and from the last to the end.
    pub margin_s: f64,
    /// Its level.
    pub dbfs: f32,
}

/// The car's way.
#[derive(Debug, Clone)]
pub struct Road {
    /// Corner points, in degrees; straight between them.
    pub points: Vec<Position>,
    /// How far along them the drive starts, in metres.
    pub start_m: f64,
    /// Speed in metres per second.
    pub speed_mps: f64,
    /// Height in metres above the sea.
    pub height_m: f64,
}

/// A place in degrees.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Position {
    /// North positive.
    pub lat: f64,
    /// East positive.
    pub lon: f64,
}

/// The satellite receiver.
#[derive(Debug, Clone)]
pub struct Receiver {
    /// It reports no date before this.
    pub date_after_s: f64,
    /// It has no fix before this.
    pub fix_after_s: f64,
    /// Error of the date and time that it reports before its first fix, in seconds.
    pub early_clock_error_s: f64,
    /// Its sentences come this long after the second that they name.
    pub latency_s: (f64, f64),
    /// No sky.
    pub tunnel: Option<Span>,
}

/// A stretch of time in seconds from the start of the drive.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Span {
    /// Start.
    pub from_s: f64,
    /// End.
    pub to_s: f64,
}

impl Span {
    /// Holds for the start and not for the end.
    pub fn contains(&self, at_s: f64) -> bool {
        (self.from_s..self.to_s).contains(&at_s)
    }
}
