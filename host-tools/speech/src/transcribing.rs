//! Writes down what is said in a stretch, window by window.

use crate::acoustic::{STEP_S, STEP_SAMPLES};
use crate::beam_search::{SearchSettings, search};
use crate::error::RecogniserError;
use crate::hearing::{Hearing, TranscriptWord};
use crate::letters::{LETTER_OUTPUTS, ROWS_PER_STEP, likeliest};
use crate::mel::MODEL_SAMPLE_RATE;
use crate::naming::read_names;
use crate::pieces::MOST_PIECES;
use crate::recogniser::{JoinedScores, SpeechRecogniser, checked, floats, whole_steps};
use crate::resample::resample;
use crate::text_model::{TextModel, WindowScores};
use crate::text_windows::{LONGEST_HEARD_STEPS, steps_to_write};
use crate::transcript::{SpokenWord, spoken_words};

/// Texts that grow side by side. Every one more costs time.
const TEXT_BEAM_WIDTH: usize = 4;
/// See `SearchSettings`. That nothing is left out and nothing said twice is for the letters to
/// say: dividing by the length rewarded texts that go round, and any weight from 0.1 to 0.3 was
/// as good, with a decoder that was not trained for our sounds.
const TEXT_LENGTH_POWER: f64 = 0.0;
const TEXT_LETTERS_WEIGHT: f64 = 0.2;
/// Nobody says more pieces: so many a second, and so many besides.
const PIECES_PER_SECOND: f64 = 9.0;
const MORE_PIECES: f64 = 8.0;

impl<A: TextModel> SpeechRecogniser<A> {
    /// Writes down what is said in one stretch (`stretch::stretches_around`) that begins
    /// `start_s` seconds after the beginning of the recording, and finds no signs.
    ///
    /// # Errors
    /// A rate outside 4 to 384 kHz, or a failure of the model.
    pub fn transcribe_stretch(
        &self,
        samples: &[i16],
        rate: u32,
        start_s: f64,
    ) -> Result<Vec<TranscriptWord>, RecogniserError> {
        let words = self.spoken_words(samples, rate, start_s)?;
        Ok(words.into_iter().map(TranscriptWord::from).collect())
    }

    /// The same with the figures that the probabilities are made of: for fitting
    /// `calibration`.
    ///
    /// # Errors
    /// As for `transcribe_stretch`.
    pub fn spoken_words(
        &self,
        samples: &[i16],
        rate: u32,
        start_s: f64,
    ) -> Result<Vec<SpokenWord>, RecogniserError> {
        checked(rate)?;
        let samples = resample(&floats(samples), rate, MODEL_SAMPLE_RATE);
        self.write(&samples, start_s, |_, _| ())
    }

    /// Hears one stretch as `stretch` does, and writes down what is said, in one run of the
    /// model's encoder.
    pub(crate) fn stretch_with_transcript(
        &self,
        samples: &[f32],
        start_s: f64,
        hearing: &mut Hearing,
    ) -> Result<(), RecogniserError> {
        let mut scores = JoinedScores::default();
        let words = self.write(samples, start_s, |first, window| {
            scores.add(first, &window.words)
        })?;
        hearing
            .transcript
            .extend(words.into_iter().map(TranscriptWord::from));
        let plain = scores.into_scores();
        hearing.add_stretch(start_s, &plain, |steps| self.slowed_scores(samples, steps))
    }

    /// The words of a stretch. `each` is given every window of the encoder with its first step:
    /// windows overlap, and each begins where a text ends.
    fn write(
        &self,
        samples: &[f32],
        start_s: f64,
        mut each: impl FnMut(usize, &WindowScores),
    ) -> Result<Vec<SpokenWord>, RecogniserError> {
        let padded = whole_steps(samples);
        let steps = padded.len() / STEP_SAMPLES;
        let end_s = start_s + samples.len() as f64 / f64::from(MODEL_SAMPLE_RATE);
        let mut out = Vec::new();
        let mut first = 0;
        while first < steps {
            let end = steps.min(first + LONGEST_HEARD_STEPS);
            let sound = &padded[first * STEP_SAMPLES..end * STEP_SAMPLES];
            let window = self.model.window(&self.mel.energies(sound))?;
            each(first, &window);
            let count = steps_to_write(&window.letters, steps - first);
            out.extend(self.text(&window, end - first, count, start_s + first as f64 * STEP_S)?);
            first += count;
        }
        for word in &mut out {
            word.span_s = (word.span_s.0.min(end_s), word.span_s.1.min(end_s));
        }
        Ok(out)
    }

    /// The words in the first `count` steps of a window of `steps`, which begins at `start_s`.
    fn text(
        &self,
        window: &WindowScores,
        steps: usize,
        count: usize,
        start_s: f64,
    ) -> Result<Vec<SpokenWord>, RecogniserError> {
        let begin = |all: &'_ [f32], width: usize| all.len().min(count * width);
        let letters = &window.letters[..begin(&window.letters, ROWS_PER_STEP * LETTER_OUTPUTS)];
        let heard = &window.heard[..begin(&window.heard, window.heard.len() / steps.max(1))];
        // Where no letter stands out nobody speaks; a decoder would make something up.
        if likeliest(letters).iter().all(|output| *output == 0) {
            return Ok(Vec::new());
        }
        let most = PIECES_PER_SECOND * count as f64 * STEP_S + MORE_PIECES;
        let settings = SearchSettings {
            width: TEXT_BEAM_WIDTH,
            most_pieces: MOST_PIECES.min(most as usize),
            length_power: TEXT_LENGTH_POWER,
            letters_weight: TEXT_LETTERS_WEIGHT,
        };
        let pieces = search(&self.model, heard, letters, settings)?;
        let mut words = spoken_words(&pieces, letters, start_s);
        read_names(&self.model, heard, letters, start_s, &pieces, &mut words)?;
        Ok(words)
    }
}
