//! Any bytes as a WAV file, as `jumpseat hear` reads one, and as bare samples at any rate,
//! through everything but the models: times stay within the recording, the words of the
//! transcript in order, and probabilities between 0 and 1. In the models' place is a stand-in
//! that babbles.
#![no_main]

use std::io::Cursor;

use hound::{SampleFormat, WavReader};
use jumpseat_speech::acoustic::{AcousticModel, FRAMES_PER_STEP};
use jumpseat_speech::letters::LETTER_OUTPUTS;
use jumpseat_speech::mel::MEL_BANDS;
use jumpseat_speech::pieces::piece_texts;
use jumpseat_speech::text_model::{AddedPiece, TextModel, WindowScores};
use jumpseat_speech::{Hearing, RecogniserError, SpeechRecogniser};
use jumpseat_vocabulary::output_count;
use libfuzzer_sys::fuzz_target;

/// Longest recording heard, in samples: three windows of the model at 8 kHz. Longer ones
/// only take longer.
const LONGEST_RECORDING_SAMPLES: usize = 200_000;

/// Returns nonsense that depends on its input, now sure, now faint.
struct BabblingAcoustic;

impl AcousticModel for BabblingAcoustic {
    fn scores(&self, energies: &[f32]) -> Result<Vec<f32>, RecogniserError> {
        let steps = energies.len() / MEL_BANDS / FRAMES_PER_STEP;
        let size = output_count();
        let mut state = energies
            .iter()
            .fold(1_u32, |s, e| s.wrapping_mul(31).wrapping_add(e.to_bits()));
        let mut out = vec![-9.0; steps * size];
        for row in out.chunks_exact_mut(size) {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let said = (state >> 8) as usize % (2 * size);
            let p = 0.1 + 0.9 * (state & 0xff) as f32 / 256.0;
            row[said.min(size) % size] = p.ln();
        }
        Ok(out)
    }
}

impl TextModel for BabblingAcoustic {
    type Texts = u32;

    fn window(&self, energies: &[f32]) -> Result<WindowScores, RecogniserError> {
        let words = self.scores(energies)?;
        let steps = words.len() / output_count();
        let mut letters = vec![-9.0; 2 * steps * LETTER_OUTPUTS];
        let rows = letters.chunks_exact_mut(LETTER_OUTPUTS);
        for (row, energy) in rows.zip(energies) {
            let bits = energy.to_bits();
            let said = (bits >> 3) as usize % (2 * LETTER_OUTPUTS);
            row[said.min(LETTER_OUTPUTS) % LETTER_OUTPUTS] = -((bits & 0x7) as f32) / 4.0;
        }
        Ok(WindowScores {
            heard: energies.iter().copied().take(steps).collect(),
            words,
            letters,
        })
    }

    fn begin(&self, heard: &[f32]) -> Result<(u32, Vec<f32>), RecogniserError> {
        let mut state = heard
            .iter()
            .fold(1_u32, |s, h| s.wrapping_mul(31).wrapping_add(h.to_bits()));
        let scores = self.go_on(&mut state, &[AddedPiece { row: 0, piece: 0 }])?;
        Ok((state, scores))
    }

    fn go_on(&self, state: &mut u32, added: &[AddedPiece]) -> Result<Vec<f32>, RecogniserError> {
        let count = piece_texts().len();
        let mut out = vec![-10.0; count * added.len()];
        for row in out.chunks_exact_mut(count) {
            for _ in 0..9 {
                *state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                // Every eighth time one of the first: the end is among them.
                let piece = (*state >> 11) as usize % if *state & 0x700 == 0 { 9 } else { count };
                row[piece] = -((*state & 0xff) as f32) / 64.0;
            }
        }
        Ok(out)
    }
}

/// The samples of a WAV file in memory, mixed to one channel, and its rate.
fn wav(bytes: &[u8]) -> Option<(Vec<i16>, u32)> {
    let reader = WavReader::new(Cursor::new(bytes)).ok()?;
    let spec = reader.spec();
    let scale = 2_f32.powi(i32::from(spec.bits_per_sample) - 1);
    let samples: Vec<f32> = match spec.sample_format {
        SampleFormat::Float => reader
            .into_samples::<f32>()
            .map_while(Result::ok)
            .take(LONGEST_RECORDING_SAMPLES)
            .collect(),
        SampleFormat::Int => reader
            .into_samples::<i32>()
            .map_while(|s| s.ok().map(|x| x as f32 / scale))
            .take(LONGEST_RECORDING_SAMPLES)
            .collect(),
    };
    let channels = usize::from(spec.channels).max(1);
    let mixed = samples
        .chunks_exact(channels)
        .map(|frame| (frame.iter().sum::<f32>() / channels as f32 * 32767.0) as i16);
    Some((mixed.collect(), spec.sample_rate))
}

fn check(hearing: &Hearing, length_s: f64) {
    let within = |(from_s, to_s): (f64, f64)| {
        assert!(
            from_s >= 0.0 && from_s <= to_s && to_s <= length_s + 1.0,
            "{from_s} {to_s} {length_s}"
        );
    };
    hearing.speech.iter().copied().for_each(within);
    hearing.words.iter().for_each(|w| within(w.span_s));
    for word in &hearing.transcript {
        within(word.span_s);
        assert!((0.0..=1.0).contains(&word.probability), "{word:?}");
    }
    let pairs = hearing.transcript.windows(2);
    pairs.for_each(|w| assert!(w[0].span_s.1 <= w[1].span_s.0, "{w:?}"));
    for sign in &hearing.signs {
        sign.spans_s.iter().copied().for_each(within);
        let all = sign.alternatives.iter().map(|a| a.probability).sum::<f64>() + sign.probability;
        assert!((0.0..=1.000_001).contains(&all), "{sign:?}");
        let said = hearing.probability_of(&sign.text, 0.0, length_s);
        assert!(said.is_some_and(|p| (0.0..=1.0).contains(&p)), "{said:?}");
    }
}

fuzz_target!(|bytes: &[u8]| {
    let ear = SpeechRecogniser::with_model(BabblingAcoustic);
    let bare = bytes.split_first_chunk::<5>().map(|(head, rest)| {
        let [rate @ .., length] = *head;
        let samples = rest
            .chunks_exact(2)
            .map(|s| i16::from_le_bytes([s[0], s[1]]));
        // A few bytes go a long way: they are said again and again, louder and softer.
        let some: Vec<i16> = samples.collect();
        let long = (0..LONGEST_RECORDING_SAMPLES / 256 * usize::from(length)).map(|k| {
            let x = some.get(k % some.len().max(1)).copied().unwrap_or(0);
            if k / 1500 % 3 == 0 { x } else { x / 64 }
        });
        (
            long.collect::<Vec<i16>>(),
            u32::from_le_bytes(rate) % 400_000,
        )
    });
    for (samples, rate) in wav(bytes).into_iter().chain(bare) {
        let Ok(listener) = ear.listener(rate) else {
            assert!(!(4000..=384_000).contains(&rate));
            continue;
        };
        let mut listener = listener.with_transcript();
        let hearing = listener.push(&samples).and_then(|()| listener.finish());
        let hearing = hearing.expect("the stand-in never fails");
        check(&hearing, samples.len() as f64 / f64::from(rate));
    }
});
