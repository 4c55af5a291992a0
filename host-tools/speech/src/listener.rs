//! Listens to a recording that comes in pieces, in bounded memory.

use crate::acoustic::AcousticModel;
use crate::activity::{SAMPLE_RATE, SpeechDetector};
use crate::error::RecogniserError;
use crate::hearing::Hearing;
use crate::mel::MODEL_SAMPLE_RATE;
use crate::recogniser::{SpeechRecogniser, StretchScores, checked, floats};
use crate::resample::resample;
use crate::stretch;
use crate::text_model::TextModel;

/// Seconds that are heard at once, unless somebody speaks at their end.
const PART_S: usize = 240;

/// Speech to hear: its beginning in seconds, and its samples at `RATE`.
type StretchSamples = (f64, Vec<f32>);

/// Adds to a hearing what is heard in a stretch: samples at `MODEL_SAMPLE_RATE`, and its
/// beginning in seconds.
type HearStretch<A> =
    fn(&SpeechRecogniser<A>, &[f32], f64, &mut Hearing) -> Result<(), RecogniserError>;

/// Takes a recording piece by piece; four minutes of it are held at a time.
pub struct RecordingListener<'a, A: AcousticModel> {
    ear: &'a SpeechRecogniser<A>,
    rate: u32,
    detector: SpeechDetector,
    /// Samples that were not heard yet, and how many came before them.
    held: Vec<i16>,
    before: u64,
    hearing: Hearing,
    hear_stretch: HearStretch<A>,
}

impl<A: AcousticModel> SpeechRecogniser<A> {
    /// Hears a recording: 16-bit samples of one channel at `rate` hertz.
    ///
    /// # Errors
    /// A rate outside 4 to 384 kHz, or a failure of the model.
    pub fn hear(&self, samples: &[i16], rate: u32) -> Result<Hearing, RecogniserError> {
        let mut listener = self.listener(rate)?;
        listener.push(samples)?;
        listener.finish()
    }

    /// What the model makes of every stretch of speech in a recording: for judging, as
    /// scores can be kept and read again.
    ///
    /// # Errors
    /// A rate outside 4 to 384 kHz, or a failure of the model.
    pub fn score_stretches(
        &self,
        samples: &[i16],
        rate: u32,
    ) -> Result<Vec<StretchScores>, RecogniserError> {
        let mut listener = self.listener(rate)?;
        let mut stretches = listener.advance(samples);
        stretches.extend(listener.rest());
        let scored = stretches.iter();
        scored
            .map(|(start_s, samples)| self.stretch_scores(*start_s, samples))
            .collect()
    }

    /// Listens to a recording that comes in pieces, with `rate` samples a second.
    ///
    /// # Errors
    /// A rate outside 4 to 384 kHz.
    pub fn listener(&self, rate: u32) -> Result<RecordingListener<'_, A>, RecogniserError> {
        checked(rate)?;
        Ok(RecordingListener::new(self, rate))
    }
}

impl<A: TextModel> RecordingListener<'_, A> {
    /// The same, but it also writes down what is said (`Hearing::transcript`), which takes time.
    #[must_use]
    pub fn with_transcript(self) -> Self {
        Self {
            hear_stretch: SpeechRecogniser::stretch_with_transcript,
            ..self
        }
    }
}

impl<'a, A: AcousticModel> RecordingListener<'a, A> {
    fn new(ear: &'a SpeechRecogniser<A>, rate: u32) -> Self {
        Self {
            ear,
            rate,
            detector: SpeechDetector::new(),
            held: Vec::new(),
            before: 0,
            hearing: Hearing::default(),
            hear_stretch: SpeechRecogniser::stretch,
        }
    }

    /// Takes the next samples, any number of them.
    ///
    /// # Errors
    /// A failure of the model.
    pub fn push(&mut self, samples: &[i16]) -> Result<(), RecogniserError> {
        // Piece by piece, so that no more than a part's samples are held.
        for piece in samples.chunks(PART_S * self.rate as usize) {
            let stretches = self.advance(piece);
            self.hear(&stretches)?;
        }
        Ok(())
    }

    /// Ends the recording and gives what was heard in it.
    ///
    /// # Errors
    /// A failure of the model.
    pub fn finish(mut self) -> Result<Hearing, RecogniserError> {
        let stretches = self.rest();
        self.hear(&stretches)?;
        Ok(self.hearing)
    }

    fn hear(&mut self, stretches: &[StretchSamples]) -> Result<(), RecogniserError> {
        for (start_s, samples) in stretches {
            (self.hear_stretch)(self.ear, samples, *start_s, &mut self.hearing)?;
        }
        Ok(())
    }

    /// The stretches of speech that `samples` complete.
    fn advance(&mut self, samples: &[i16]) -> Vec<StretchSamples> {
        let part = PART_S * self.rate as usize;
        let mut out = Vec::new();
        for piece in samples.chunks(part) {
            self.held.extend_from_slice(piece);
            while self.held.len() > part {
                out.extend(self.part(part, false));
            }
        }
        out
    }

    /// The speech that is left at the end.
    fn rest(&mut self) -> Vec<StretchSamples> {
        self.part(self.held.len(), true)
    }

    /// The speech in the first `count` samples held, but for that which goes on past them.
    fn part(&mut self, count: usize, last: bool) -> Vec<StretchSamples> {
        let rate = f64::from(self.rate);
        let whole = floats(&self.held[..count]);
        let wide: Vec<i16> = resample(&whole, self.rate, SAMPLE_RATE)
            .iter()
            .map(|x| (x * 32767.0) as i16)
            .collect();
        self.detector.push(&wide);
        let speech: Vec<(f64, f64)> = self
            .detector
            .finish()
            .iter()
            .map(|s| (s.start_s, s.end_s))
            .collect();
        let length_s = count as f64 / rate;
        let mut stretches = stretch::stretches_around(&speech, length_s);
        let mut done = count;
        let open = stretches.last().copied().filter(|s| {
            // Speech at the end is heard with what follows, unless it fills the part.
            !last && s.1 > length_s - 1.5 && s.0 > length_s / 4.0
        });
        if let Some(open) = open {
            stretches.pop();
            done = (open.0 * rate) as usize;
        }
        let offset_s = self.before as f64 / rate;
        let heard_to_s = done as f64 / rate;
        self.hearing.speech.extend(
            speech
                .iter()
                .filter(|s| s.0 < heard_to_s)
                .map(|s| (offset_s + s.0, offset_s + s.1)),
        );
        let narrow = resample(&whole, self.rate, MODEL_SAMPLE_RATE);
        let mut out = Vec::new();
        for (from_s, to_s) in stretches {
            let first = (from_s * f64::from(MODEL_SAMPLE_RATE)) as usize;
            let end = ((to_s * f64::from(MODEL_SAMPLE_RATE)) as usize).min(narrow.len());
            if end > first {
                let start_s = offset_s + first as f64 / f64::from(MODEL_SAMPLE_RATE);
                out.push((start_s, narrow[first..end].to_vec()));
            }
        }
        self.held.drain(..done);
        self.before += done as u64;
        out
    }
}
