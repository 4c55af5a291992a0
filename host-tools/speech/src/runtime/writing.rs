//! Runs the text decoder of the model file.

use rten::{NodeId, Value, ValueOrView};
use rten_tensor::{AsView, Layout, NdTensor};

use super::{RtenModel, failed, numbers};
use crate::error::RecogniserError;
use crate::letters::LETTER_OUTPUTS;
use crate::pieces::{MOST_PIECES, PROMPT_PIECES, piece_texts};
use crate::text_model::{AddedPiece, TextModel, WindowScores};

/// Numbers in a row of `WindowScores::heard`.
const HEARD_WIDTH: usize = 512;
/// What keeps a piece from looking at those after it.
const UNSEEN: f32 = -1e9;
/// Where the earlier pieces stand in the past's keys and values: their last but one and their
/// last dimension are (head, earlier) and (earlier, head).
const KEY_AXIS: usize = 3;
const VALUE_AXIS: usize = 2;

/// Texts about one window as they grow.
pub struct RtenTexts {
    /// Names in the graph: inputs of a step, and what it gives.
    pieces: NodeId,
    places: NodeId,
    mask: NodeId,
    past_nodes: Vec<NodeId>,
    wanted: Vec<NodeId>,
    /// What each layer looks at: keys and values, layer after layer.
    memory: Vec<(NodeId, Value)>,
    /// Keys and values of the pieces so far (texts, heads, …), layer after layer.
    past: Vec<NdTensor<f32, 4>>,
    /// Pieces in each text so far, those of the prompt included.
    length: usize,
}

impl TextModel for RtenModel {
    type Texts = RtenTexts;

    fn window(&self, energies: &[f32]) -> Result<WindowScores, RecogniserError> {
        let mut values = self.encode(energies, &["scores", "letters", "heard"])?;
        Ok(WindowScores {
            words: numbers(values.next(), jumpseat_vocabulary::output_count())?,
            letters: numbers(values.next(), LETTER_OUTPUTS)?,
            heard: numbers(values.next(), HEARD_WIDTH)?,
        })
    }

    fn begin(&self, heard: &[f32]) -> Result<(RtenTexts, Vec<f32>), RecogniserError> {
        let mut texts = self.empty_texts(heard)?;
        let scores = self.step(&mut texts, 1, &PROMPT_PIECES)?;
        let from = scores.len() - piece_texts().len().min(scores.len());
        Ok((texts, scores[from..].to_vec()))
    }

    fn go_on(
        &self,
        texts: &mut RtenTexts,
        added: &[AddedPiece],
    ) -> Result<Vec<f32>, RecogniserError> {
        let from: Vec<usize> = added.iter().map(|a| a.row).collect();
        texts.past = std::mem::take(&mut texts.past)
            .into_iter()
            .map(|past| chosen(past, &from))
            .collect::<Result<_, _>>()?;
        let pieces: Vec<usize> = added.iter().map(|a| a.piece).collect();
        self.step(texts, added.len(), &pieces)
    }
}

impl RtenModel {
    /// No text yet, about `heard`.
    fn empty_texts(&self, heard: &[f32]) -> Result<RtenTexts, RecogniserError> {
        let mut memory_nodes = Vec::new();
        let mut past_nodes = Vec::new();
        let mut wanted = vec![self.node("text")?];
        let mut layer = 0;
        while let Some(key) = self.model.find_node(&format!("memory_key_{layer}")) {
            memory_nodes.extend([key, self.node(&format!("memory_value_{layer}"))?]);
            for part in ["key", "value"] {
                past_nodes.push(self.node(&format!("past_{part}_{layer}"))?);
                wanted.push(self.node(&format!("new_{part}_{layer}"))?);
            }
            layer += 1;
        }
        let memory = self.memory(heard, &memory_nodes)?;
        let mut past = Vec::new();
        for (number, (_, looked_at)) in memory.iter().enumerate() {
            let mut shape: [usize; 4] = looked_at
                .shape()
                .as_slice()
                .try_into()
                .map_err(|_| failed("a memory of another shape"))?;
            let axis = if number % 2 == 0 {
                KEY_AXIS
            } else {
                VALUE_AXIS
            };
            // With room for all pieces, so that the runtime adds each without copying the others:
            // two thirds of the time.
            shape[axis] = PROMPT_PIECES.len() + MOST_PIECES;
            past.push(NdTensor::with_capacity(shape, axis));
        }
        Ok(RtenTexts {
            pieces: self.node("pieces")?,
            places: self.node("places")?,
            mask: self.node("mask")?,
            past_nodes,
            wanted,
            memory,
            past,
            length: 0,
        })
    }

    /// What the layers look at, from what was heard.
    fn memory(
        &self,
        heard: &[f32],
        nodes: &[NodeId],
    ) -> Result<Vec<(NodeId, Value)>, RecogniserError> {
        let node = self.node("heard")?;
        let shape = [1, heard.len() / HEARD_WIDTH, HEARD_WIDTH];
        let heard = NdTensor::try_from_data(shape, heard.to_vec()).map_err(failed)?;
        let values = self.run(vec![(node, heard.view().into())], nodes)?;
        Ok(nodes.iter().copied().zip(values).collect())
    }

    /// Adds `pieces`, as many to each of `count` texts; the log-probabilities of what follows
    /// each of them.
    fn step(
        &self,
        texts: &mut RtenTexts,
        count: usize,
        pieces: &[usize],
    ) -> Result<Vec<f32>, RecogniserError> {
        let whole = |numbers: Vec<usize>| -> Vec<i32> {
            numbers
                .into_iter()
                .map(|n| i32::try_from(n).unwrap_or_default())
                .collect()
        };
        let length = pieces.len() / count.max(1);
        let after = texts.length + length;
        let pieces =
            NdTensor::try_from_data([count, length], whole(pieces.to_vec())).map_err(failed)?;
        let places = NdTensor::try_from_data([length], whole((texts.length..after).collect()))
            .map_err(failed)?;
        let seen = |at: usize| {
            if at % after > texts.length + at / after {
                UNSEEN
            } else {
                0.0
            }
        };
        let mask = NdTensor::try_from_data(
            [length, after],
            (0..length * after).map(seen).collect::<Vec<f32>>(),
        )
        .map_err(failed)?;
        let mut inputs: Vec<(NodeId, ValueOrView<'_>)> = vec![
            (texts.pieces, pieces.view().into()),
            (texts.places, places.view().into()),
            (texts.mask, mask.view().into()),
        ];
        inputs.extend(
            texts
                .memory
                .iter()
                .map(|(node, value)| (*node, value.into())),
        );
        let past = std::mem::take(&mut texts.past).into_iter();
        for (node, past) in texts.past_nodes.iter().zip(past) {
            inputs.push((*node, ValueOrView::Value(past.into())));
        }
        let mut values = self.run(inputs, &texts.wanted)?.into_iter();
        let scores = numbers(values.next(), piece_texts().len())?;
        texts.past = values
            .map(|value| {
                value
                    .try_into()
                    .map_err(|_| failed("a past of another shape"))
            })
            .collect::<Result<_, _>>()?;
        texts.length = after;
        Ok(scores)
    }
}

/// The rows `from` of keys or values, in that order, with the room that these have for more.
fn chosen(past: NdTensor<f32, 4>, from: &[usize]) -> Result<NdTensor<f32, 4>, RecogniserError> {
    let [count, heads, a, b] = past.shape();
    if from.iter().copied().eq(0..count) {
        return Ok(past);
    }
    let strides = past.strides();
    let row_size = strides[0];
    let all = past.into_non_contiguous_data();
    let mut out = Vec::with_capacity(from.len() * row_size);
    for (number, row) in from.iter().enumerate() {
        if *row >= count {
            return Err(failed("a text that is not there"));
        }
        let end = all.len().min((row + 1) * row_size);
        out.extend_from_slice(all.get(row * row_size..end).unwrap_or_default());
        out.resize((number + 1) * row_size, 0.0);
    }
    NdTensor::from_data_with_strides([from.len(), heads, a, b], out, strides).map_err(failed)
}
