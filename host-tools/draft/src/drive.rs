//! The input of the assembly: what is known of a drive.

use jumpseat_values::{DialSetting, Span};
use serde::{Deserialize, Serialize};

use crate::heard::HeardOver;
use crate::sign_distance::is_part_of;

/// Which way the audio of an over went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum OverDirection {
    /// Key up: what came back, be it speech, noise or nothing.
    Rx,
    /// Key down: what the operator said.
    Tx,
}

/// Where speech was found in the audio of an over.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum SpeechActivity {
    /// The audio was examined; these stretches, in order, sound like speech.
    Found(Vec<Span>),
    /// The audio could not be examined: the file is missing or damaged.
    Unknown,
}

/// One turn: the key went down, or up, and stayed so from `start_s` to `end_s`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DriveOver {
    /// Which way.
    pub direction: OverDirection,
    /// Trip time at which the key changed to this state.
    pub start_s: f64,
    /// Trip time at which it left this state, or at which the trip ends.
    pub end_s: f64,
    /// Where speech was found. Only looked at for received overs.
    pub activity: SpeechActivity,
    /// What a recogniser heard in it; `None` when none listened.
    pub heard: Option<HeardOver>,
}

/// The dial was at `setting` from `at_s` on, or was no longer known (`None`).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DialChange {
    /// Trip time of the change.
    pub at_s: f64,
    /// The new setting; `None` when rig control fell silent.
    pub setting: Option<DialSetting>,
}

/// Everything that the assembly uses.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct AssemblyInput {
    /// Length of the trip in seconds.
    pub length_s: f64,
    /// Overs in order of time; they do not overlap.
    pub overs: Vec<DriveOver>,
    /// Presses of the mark button, in order of time.
    pub marks: Vec<f64>,
    /// Changes of the dial, in order of time. Before the first the dial is unknown.
    pub dial: Vec<DialChange>,
    /// The recording broke off (power cut) instead of being ended in order.
    pub broke_off: bool,
    /// The operator's own call sign.
    pub own: Option<String>,
    /// Further call signs that are his own or his station's.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub also_own: Vec<String>,
    /// Call signs of stations worked before.
    pub worked: Vec<String>,
}

impl AssemblyInput {
    /// Whether it is an own call sign, a piece of one, or one letter away from one: no other
    /// station's.
    pub(crate) fn is_own(&self, text: &str) -> bool {
        let own = self.own.iter().chain(&self.also_own);
        own.into_iter().any(|own| is_part_of(text, own))
    }
}
