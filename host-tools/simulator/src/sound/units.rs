//! Sample rate, levels and times of a script's sound.

/// Samples a second in every script and trip folder.
pub const SCRIPT_SAMPLE_RATE: u32 = 16_000;

/// Full scale of 16 bits times the level.
pub(crate) fn amplitude(dbfs: f32) -> f32 {
    32_767.0 * gain(dbfs)
}

/// A level in dB as a factor of amplitude.
pub(crate) fn gain(db: f32) -> f32 {
    10_f32.powf(db / 20.0)
}

/// The sample count at a time.
pub(crate) fn sample_at(seconds: f64) -> u64 {
    (seconds * f64::from(SCRIPT_SAMPLE_RATE)).round() as u64
}
