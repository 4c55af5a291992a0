//! The acoustic model: log mel energies in, log-probabilities of the vocabulary out.

use crate::error::RecogniserError;
use crate::mel::{MEL_HOP_SAMPLES, MODEL_SAMPLE_RATE};

/// Mel frames for which the model gives one frame of scores: 40 ms.
pub const FRAMES_PER_STEP: usize = 4;
/// Samples of a step.
pub(crate) const STEP_SAMPLES: usize = MEL_HOP_SAMPLES * FRAMES_PER_STEP;
/// Seconds of a step.
pub(crate) const STEP_S: f64 = STEP_SAMPLES as f64 / MODEL_SAMPLE_RATE as f64;

/// Anything that scores the vocabulary. A trait, so that the runtime can be changed.
pub trait AcousticModel {
    /// Log-probabilities, `jumpseat_vocabulary::output_count()` for each step of `FRAMES_PER_STEP` frames,
    /// step after step, for band-major `energies` of a whole number of steps.
    ///
    /// # Errors
    /// When the runtime cannot run the model on this input.
    fn scores(&self, energies: &[f32]) -> Result<Vec<f32>, RecogniserError>;
}
