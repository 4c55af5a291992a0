//! How a voice's tempo and pitch are asked for.

use crate::scenario::SpeakerVoice;

/// From the usual pitch to the ends of its range, in half tones.
const PITCH_REACH: f64 = 4.0;

/// How much higher than usual the voice is, as a factor of its frequency.
pub(super) fn pitch_factor(voice: &SpeakerVoice) -> f64 {
    let half_tones = (f64::from(voice.pitch.min(99)) - 50.0) / 50.0 * PITCH_REACH;
    (half_tones / 12.0).exp2()
}

/// How much faster the voice is than `usual` words a minute, as a factor.
pub(super) fn tempo_factor(voice: &SpeakerVoice, usual: f64) -> f64 {
    f64::from(voice.speed.max(1)) / usual
}
