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
