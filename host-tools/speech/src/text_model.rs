//! The text decoder: from what was heard in a window to the pieces of a text about it.

use crate::acoustic::AcousticModel;
use crate::error::RecogniserError;

/// What the model makes of one window, in one run of its encoder.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct WindowScores {
    /// Log-probabilities of the vocabulary, `jumpseat_vocabulary::output_count()` for each step
    /// of 40 ms.
    pub words: Vec<f32>,
    /// Log-probabilities of what `letters` lists, `letters::LETTER_OUTPUTS` every 20 ms: two
    /// rows a step.
    pub letters: Vec<f32>,
    /// What the text decoder looks at, a row of some width for each step.
    pub heard: Vec<f32>,
}

/// A piece that is added to a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AddedPiece {
    /// Which of the texts so far it goes on from, by its row.
    pub row: usize,
    /// Row of `pieces::piece_texts()`.
    pub piece: usize,
}

/// Anything that can write down what was said. A trait, so that tests and fuzzers can bring
/// something else.
pub trait TextModel: AcousticModel {
    /// The texts about one window that are being written, side by side.
    type Texts;

    /// Words, letters and what the decoder looks at, for band-major `energies` of a whole
    /// number of steps.
    ///
    /// # Errors
    /// When the runtime cannot run the model on this input.
    fn window(&self, energies: &[f32]) -> Result<WindowScores, RecogniserError>;

    /// Begins one text about `heard` (rows of `WindowScores::heard`); also gives the
    /// log-probability of each piece to come first, `pieces::piece_texts().len()` of them.
    ///
    /// # Errors
    /// As for `window`.
    fn begin(&self, heard: &[f32]) -> Result<(Self::Texts, Vec<f32>), RecogniserError>;

    /// Replaces `texts` by one for each of `added`; gives the log-probability of each piece
    /// to come next, text after text.
    ///
    /// # Errors
    /// As for `window`; also for a row that is not there.
    fn go_on(
        &self,
        texts: &mut Self::Texts,
        added: &[AddedPiece],
    ) -> Result<Vec<f32>, RecogniserError>;
}
