//! Runs the acoustic model with the rten library.

mod writing;

use std::path::Path;
use std::sync::Arc;

use rten::{Model, ModelOptions, NodeId, RunOptions, ThreadPool, Value, ValueOrView};
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

/// The weights that the program carries: `model/all.sh` makes them, `model/MODEL.md`
/// describes them, and the build script unpacks them.
const MODEL_WEIGHTS: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/hear.onnx"));

impl RtenModel {
    /// The model with the weights that the program carries.
    ///
    /// # Errors
    /// When the runtime rejects them.
    pub fn built_in() -> Result<Self, RecogniserError> {
        let model = options()
            .load_static_slice(MODEL_WEIGHTS)
            .map_err(|e| RecogniserError::Model(e.to_string()))?;
        Ok(Self::on_one_thread(model))
    }

    /// Reads the ONNX file at `path`.
    ///
    /// # Errors
    /// When the file cannot be read, or the runtime rejects it.
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
    /// When the runtime rejects them.
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

impl RtenModel {
    /// Computes the values `wanted` from `inputs`, and nothing else.
    fn run(
        &self,
        inputs: Vec<(NodeId, ValueOrView<'_>)>,
        wanted: &[NodeId],
    ) -> Result<Vec<Value>, RecogniserError> {
        let options = RunOptions::default().with_thread_pool(Some(self.pool.clone()));
        self.model
            .run(inputs, wanted, Some(options))
            .map_err(failed)
    }

    /// The input or output called `name`.
    fn node(&self, name: &str) -> Result<NodeId, RecogniserError> {
        self.model.node_id(name).map_err(failed)
    }

    /// The values called `wanted` of the encoder, run on `energies` as far as they need.
    fn encode(
        &self,
        energies: &[f32],
        wanted: &[&str],
    ) -> Result<std::vec::IntoIter<Value>, RecogniserError> {
        let frames = energies.len() / MEL_BANDS;
        let input =
            NdTensor::try_from_data([1, MEL_BANDS, frames], energies.to_vec()).map_err(failed)?;
        let nodes: Vec<NodeId> = wanted
            .iter()
            .map(|name| self.node(name))
            .collect::<Result<_, _>>()?;
        let values = self.run(vec![(self.node("mel")?, input.view().into())], &nodes)?;
        Ok(values.into_iter())
    }
}

fn failed(error: impl std::fmt::Display) -> RecogniserError {
    RecogniserError::Model(error.to_string())
}

/// The numbers of a value of three dimensions, the last of which is to be `width`.
fn numbers(value: Option<Value>, width: usize) -> Result<Vec<f32>, RecogniserError> {
    let value: Option<NdTensor<f32, 3>> = value.and_then(|value| value.try_into().ok());
    match value {
        Some(value) if value.size(2) == width => Ok(value.to_vec()),
        Some(_) => Err(failed("weights and tables do not belong together")),
        None => Err(failed("an output of another shape")),
    }
}

impl AcousticModel for RtenModel {
    fn scores(&self, energies: &[f32]) -> Result<Vec<f32>, RecogniserError> {
        let mut values = self.encode(energies, &["scores"])?;
        numbers(values.next(), jumpseat_vocabulary::output_count())
    }
}
