//! The acoustic model in the rten runtime.

use std::path::Path;
use std::sync::Arc;

use rten::{Model, ModelOptions, RunOptions, ThreadPool};
use rten_tensor::{AsView, Layout, NdTensor};

use crate::acoustic::AcousticModel;
use crate::error::RecogniserError;
use crate::mel::MEL_BANDS;
use crate::recogniser::SpeechRecogniser;

/// A model file of `model/export.py`, run on one thread.
pub struct RtenModel {
    model: Model,
    pool: Arc<ThreadPool>,
}

/// The weights that the program carries: `model/all.sh` makes them, `model/MODEL.md` tells of them.
const MODEL_WEIGHTS: &[u8] = include_bytes!("../model/hear.onnx");

impl RtenModel {
    /// The model with the weights that the program carries.
    ///
    /// # Errors
    /// When the runtime does not take them.
    pub fn built_in() -> Result<Self, RecogniserError> {
        let model = options()
            .load_static_slice(MODEL_WEIGHTS)
            .map_err(|e| RecogniserError::Model(e.to_string()))?;
        Ok(Self::on_one_thread(model))
    }

    /// Reads the ONNX file at `path`.
    ///
    /// # Errors
    /// When the file cannot be read, or the runtime does not take what is in it.
    pub fn open(path: &Path) -> Result<Self, RecogniserError> {
        let data = std::fs::read(path).map_err(|source| RecogniserError::Weights {
            path: path.to_owned(),
            source,
        })?;
        let model = options()
            .load(data)
            .map_err(|e| RecogniserError::Model(e.to_string()))?;
        Ok(Self::on_one_thread(model))
    }

    fn on_one_thread(model: Model) -> Self {
        let pool = Arc::new(ThreadPool::with_num_threads(1));
        Self { model, pool }
    }
}

impl SpeechRecogniser<RtenModel> {
    /// The recogniser with the weights that the program carries.
    ///
    /// # Errors
    /// When the runtime does not take them.
    pub fn built_in() -> Result<Self, RecogniserError> {
        Ok(Self::with_model(RtenModel::built_in()?))
    }
}

/// Weights are put into the order that the kernels want once, not at every window: a
/// seventh of the time.
fn options() -> ModelOptions {
    let mut options = ModelOptions::with_all_ops();
    options.prepack_weights(true);
    options
}

impl AcousticModel for RtenModel {
    fn scores(&self, energies: &[f32]) -> Result<Vec<f32>, RecogniserError> {
        let failed = |e: &dyn std::fmt::Display| RecogniserError::Model(e.to_string());
        let frames = energies.len() / MEL_BANDS;
        let input = NdTensor::try_from_data([1, MEL_BANDS, frames], energies.to_vec())
            .map_err(|e| failed(&e))?;
        let options = RunOptions::default().with_thread_pool(Some(self.pool.clone()));
        let output = self
            .model
            .run_one(input.view().into(), Some(options))
            .map_err(|e| failed(&e))?;
        let output: NdTensor<f32, 3> = output
            .try_into()
            .map_err(|_| failed(&"scores of another shape"))?;
        if output.size(2) != jumpseat_vocabulary::output_count() {
            return Err(failed(&"weights and vocabulary do not belong together"));
        }
        Ok(output.to_vec())
    }
}
