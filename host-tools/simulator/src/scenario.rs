//! What happens on a drive, as values: who talks, over what path, past what tunnel.

mod channels;
mod conversation;
mod first_drive;
mod people;
mod stations;
mod talk;
mod whole_drive;

use chrono::{DateTime, Utc};
use jumpseat_core::journal::AudioDirection;
use serde::{Deserialize, Serialize};

pub use first_drive::{demo, live, short};
pub use talk::SPELLING;
pub use whole_drive::{DriveDifficulty, DriveWish, drive};

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

/// Where a voice comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum VoiceFamily {
    /// The program espeak-ng.
    Espeak,
    /// The program flite.
    Flite,
    /// Recordings of words; what was not recorded is said by espeak-ng.
    Words,
}

/// A voice.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct SpeakerVoice {
    /// Where it comes from.
    pub family: VoiceFamily,
    /// Its name there, such as "en-us+m3"; the folder of word recordings.
    pub name: String,
    /// Words a minute.
    pub speed: u32,
    /// 0 to 99, 50 is usual.
    pub pitch: u32,
}

impl std::fmt::Display for SpeakerVoice {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let family = match self.family {
            VoiceFamily::Espeak => "espeak-ng",
            VoiceFamily::Flite => "flite",
            VoiceFamily::Words => "words",
        };
        // Of a folder only its name: where it lies is nobody's business.
        let name = std::path::Path::new(&self.name).file_name();
        write!(f, "{family} {}", name.unwrap_or_default().to_string_lossy())
    }
}

/// Frequency and mode.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ScriptedDial {
    /// Frequency in hertz.
    pub hz: u64,
    /// Rig control's word: "USB", "LSB", "FM".
    pub mode: String,
}

/// A stretch of the drive in which one thing happens.
#[derive(Debug, Clone)]
pub struct DriveEpisode {
    /// What happens, in a few words, for tables.
    pub kind: &'static str,
    /// It starts no earlier than this.
    pub not_before_s: f64,
    /// The dial is there this long before the first over.
    pub settled_s: f64,
    /// Where the dial stands.
    pub dial: ScriptedDial,
    /// How the other stations arrive.
    pub path: RadioPath,
    /// The others who speak.
    pub cast: Vec<OtherStation>,
    /// Who speaks when.
    pub overs: Vec<ScriptedOver>,
    /// What the log should hold; empty for calls that nobody answered and for
    /// what is only overheard.
    pub contacts: Vec<ScriptedContact>,
    /// Presses of the button, in seconds after the end of the last over.
    pub marks_s: Vec<f64>,
    /// Presses of the button, in seconds before the first over.
    pub early_marks_s: Vec<f64>,
    /// The sky is gone during the pause before this over.
    pub tunnel_before: Option<usize>,
}

/// Another station on the air.
#[derive(Debug, Clone)]
pub struct OtherStation {
    /// The voice.
    pub voice: SpeakerVoice,
    /// Stronger or weaker than the path of the episode has it, in dB.
    pub level_db: f32,
    /// Mistuned by this many hertz; sideband only.
    pub off_hz: f32,
}

/// One turn of transmission.
#[derive(Debug, Clone)]
pub struct ScriptedOver {
    /// Who speaks: the operator (`Tx`) or another station (`Rx`).
    pub direction: AudioDirection,
    /// Index into [`DriveEpisode::cast`]; of no meaning when the operator speaks.
    pub speaker: usize,
    /// Silence since the over before.
    pub pause_s: f64,
    /// The dial is moved there during that silence.
    pub dial: Option<ScriptedDial>,
    /// The words, ready to be spoken.
    pub text: String,
}

/// What is true of a contact.
#[derive(Debug, Clone)]
pub struct ScriptedContact {
    /// The other station's call sign.
    pub call: String,
    /// Report given, if one was.
    pub sent: Option<String>,
    /// Report received, if one was.
    pub received: Option<String>,
    /// The other operator's name, where it was said.
    pub name: Option<String>,
    /// A number or reference that the other station gave.
    pub number: Option<String>,
    /// Which of the episode's overs belong to it: first and last.
    pub overs: (usize, usize),
}

/// The way from the other transmitter to the loudspeaker.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RadioPath {
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
    /// Short wave as it is: two fading paths, and what else is on the band.
    Hf(ShortWaveChannel),
    /// Frequency modulation as a car hears it.
    Car(MobileFmChannel),
}

/// A short-wave channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShortWaveChannel {
    /// Mean active speech level over noise in 300 to 2,700 Hz, in dB.
    pub snr_db: f32,
    /// The second path comes this much later, in seconds.
    pub delay_s: f32,
    /// Doppler spread of either path, in hertz.
    pub spread_hz: f32,
    /// A carrier: hertz, and dB over the noise.
    pub carrier: Option<(f32, f32)>,
    /// Static crashes a minute.
    pub crashes: f32,
    /// Ignition noise: sparks a second, and their peak over the noise in dB.
    pub ignition: Option<(f32, f32)>,
    /// Speech of others on the next channel: hertz away, and dB over the noise.
    pub neighbour: Option<(f32, f32)>,
}

/// A very high frequency channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MobileFmChannel {
    /// Active speech level over noise while the carrier stands, in dB.
    pub snr_db: f32,
    /// Noise burst after the carrier drops, in seconds.
    pub squelch_tail_s: f64,
    /// A repeater: pitch of its courtesy beep in hertz, and how long its carrier
    /// stands after that, in seconds.
    pub repeater: Option<(f32, f64)>,
    /// Picket-fencing: fades a second, and the share of time in them.
    pub pickets: Option<(f32, f32)>,
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

/// The car's way.
#[derive(Debug, Clone)]
pub struct CarRoute {
    /// Corner points, in degrees; straight between them.
    pub points: Vec<TruePosition>,
    /// How far along them the drive starts, in metres.
    pub start_m: f64,
    /// Speed in metres per second.
    pub speed_mps: f64,
    /// Height in metres above the sea.
    pub height_m: f64,
}

/// A place in degrees.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TruePosition {
    /// North positive.
    pub lat: f64,
    /// East positive.
    pub lon: f64,
}

/// The satellite receiver.
#[derive(Debug, Clone)]
pub struct ReceiverBehaviour {
    /// It reports no date before this.
    pub date_after_s: f64,
    /// It has no fix before this.
    pub fix_after_s: f64,
    /// Error of the date and time that it reports before its first fix, in seconds.
    pub early_clock_error_s: f64,
    /// Its sentences come this long after the second that they name.
    pub latency_s: (f64, f64),
    /// No sky.
    pub tunnel: Option<DriveSpan>,
}

/// A stretch of time in seconds from the start of the drive.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct DriveSpan {
    /// Start.
    pub from_s: f64,
    /// End.
    pub to_s: f64,
}

impl DriveSpan {
    /// Holds for the start and not for the end.
    pub fn contains(&self, at_s: f64) -> bool {
        (self.from_s..self.to_s).contains(&at_s)
    }
}
