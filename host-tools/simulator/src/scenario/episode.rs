//! A stretch of a drive: who says what on which frequency, and what a log should hold of it.

use jumpseat_core::journal::AudioDirection;
use serde::{Deserialize, Serialize};

use crate::scenario::radio_path::RadioPath;
use crate::scenario::voice::SpeakerVoice;

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
    /// Presses of the button just before the overs with these numbers.
    pub marks_before: Vec<usize>,
    /// The sky is gone during the pause before this over.
    pub tunnel_before: Option<usize>,
    /// What else happens, in order: before the over with this number, or after the last.
    pub effects: Vec<(usize, DriveEffect)>,
    /// Where it was written; `None` for what the simulator makes up.
    pub written: Option<WrittenOrigin>,
}

/// The written conversation that an episode comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WrittenOrigin {
    /// Hand, file and line of its title: "alder/parks.txt:12".
    pub place: String,
    /// What occurs in it.
    pub kinds: Vec<String>,
    /// Why a log holds no contact, where it holds none.
    pub nobody: Option<String>,
}

/// Something that is heard or done on a drive beside what is said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DriveEffect {
    /// A burst of noise as a carrier drops.
    SquelchTail,
    /// A carrier that opens the repeater and says nothing.
    Kerchunk,
    /// The repeater's courtesy tone.
    CourtesyTone,
    /// The repeater's timer ends an over: its tone, and silence.
    TimeOut,
    /// The repeater's identifier in Morse code.
    MorseIdentifier,
    /// The operator's key is down for so many seconds, and nobody speaks.
    Tuner(f64),
    /// A neighbour's splatter for so many seconds.
    Splatter(f64),
    /// A noise in the car begins.
    Noise(CarNoise),
    /// The noises in the car end.
    Quiet,
    /// From here on the operator is heard in the receive channel while the key is down.
    Leak,
}

/// A noise in the car.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CarNoise {
    /// The wiper.
    Wiper,
    /// Wind at the window and in the microphone.
    Wind,
    /// The heater's fan.
    Fan,
    /// The direction indicator's clicks.
    Indicator,
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
    /// How it is spoken, beyond the words.
    pub delivery: OverDelivery,
}

/// How an over is spoken, beyond its words.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct OverDelivery {
    /// It begins while the over before is still being spoken.
    pub overlapping: bool,
    /// It arrives stronger than its station usually does, in dB.
    pub louder_db: f32,
    /// Its first syllable is cut.
    pub clipped: bool,
    /// Somebody in the car, whose voice is in the operator's microphone: the key is down only
    /// while the operator speaks.
    pub in_car: bool,
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
    /// What else was exchanged: name of the field and value, several ones apart by "|".
    pub exchanged: Vec<(String, String)>,
    /// Which of the episode's overs belong to it: first and last.
    pub overs: (usize, usize),
}
