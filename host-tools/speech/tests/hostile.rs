//! The ear around the acoustic model: times, windows, odd recordings. The models here
//! are stand-ins written for these tests; they need no weights.

use std::f32::consts::TAU;

use jumpseat_speech::acoustic::{AcousticModel, FRAMES_PER_STEP};
use jumpseat_speech::letters::LETTER_OUTPUTS;
use jumpseat_speech::mel::MEL_BANDS;
use jumpseat_speech::pieces::{END_PIECE, piece_texts};
use jumpseat_speech::text_model::{AddedPiece, TextModel, WindowScores};
use jumpseat_speech::{Hearing, RecogniserError, SpeechRecogniser};
use jumpseat_vocabulary::{output_count, tokens};

/// Says nonsense that hangs on what it is given, as surely as it can.
struct BabblingModel;

impl AcousticModel for BabblingModel {
    fn scores(&self, energies: &[f32]) -> Result<Vec<f32>, RecogniserError> {
        let steps = energies.len() / MEL_BANDS / FRAMES_PER_STEP;
        let mut state = energies
            .iter()
            .fold(1_u32, |s, e| s.wrapping_mul(31).wrapping_add(e.to_bits()));
        let mut out = vec![-12.0; steps * output_count()];
        for row in out.chunks_exact_mut(output_count()) {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            row[(state >> 8) as usize % output_count()] = -0.01;
        }
        Ok(out)
    }
}

impl TextModel for BabblingModel {
    type Texts = u32;

    fn window(&self, energies: &[f32]) -> Result<WindowScores, RecogniserError> {
        let words = self.scores(energies)?;
        let steps = words.len() / output_count();
        let rows = words.chunks_exact(output_count());
        let said = rows.map(|row| row.iter().position(|p| *p > -1.0).unwrap_or(0));
        let mut letters = vec![-9.0; 2 * steps * LETTER_OUTPUTS];
        for (row, word) in letters
            .chunks_exact_mut(LETTER_OUTPUTS)
            .step_by(2)
            .zip(said)
        {
            row[word % LETTER_OUTPUTS] = -0.1;
        }
        Ok(WindowScores {
            heard: vec![0.5; steps],
            words,
            letters,
        })
    }

    fn begin(&self, heard: &[f32]) -> Result<(u32, Vec<f32>), RecogniserError> {
        let mut state = heard.len() as u32;
        let scores = self.go_on(&mut state, &[AddedPiece { row: 0, piece: 0 }])?;
        Ok((state, scores))
    }

    fn go_on(&self, state: &mut u32, added: &[AddedPiece]) -> Result<Vec<f32>, RecogniserError> {
        let mut out = Vec::new();
        for _ in added {
            let mut row = vec![-10.0; piece_texts().len()];
            for _ in 0..9 {
                *state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let piece = (*state >> 8) as usize % piece_texts().len();
                row[piece] = -((*state & 0xff) as f32) / 64.0;
            }
            row[END_PIECE] = -4.0;
            out.extend(row);
        }
        Ok(out)
    }
}

/// What is heard in a recording and written down of it.
fn written(recording: &[i16], rate: u32) -> Result<Hearing, RecogniserError> {
    let ear = SpeechRecogniser::with_model(BabblingModel);
    let mut listener = ear.listener(rate)?.with_transcript();
    listener.push(recording)?;
    listener.finish()
}

/// Says the words it was made with, one every ten steps, from step 30 on.
struct ScriptedModel(Vec<usize>);

impl ScriptedModel {
    fn words(text: &str) -> Self {
        let outputs = text
            .split_whitespace()
            .filter_map(|word| tokens().iter().position(|t| t.word == word).map(|k| k + 1));
        Self(outputs.collect())
    }
}

impl AcousticModel for ScriptedModel {
    fn scores(&self, energies: &[f32]) -> Result<Vec<f32>, RecogniserError> {
        let steps = energies.len() / MEL_BANDS / FRAMES_PER_STEP;
        let quiet = 0.002 / output_count() as f32;
        let mut out = vec![quiet.ln(); steps * output_count()];
        for (step, row) in out.chunks_exact_mut(output_count()).enumerate() {
            let word = step
                .checked_sub(30)
                .filter(|s| s % 10 < 4)
                .and_then(|s| self.0.get(s / 10));
            row[word.copied().unwrap_or(0)] = -0.002;
        }
        Ok(out)
    }
}

/// A voice as far as loudness goes, in a little noise.
fn voice(seconds: f32, rate: u32) -> Vec<i16> {
    let mut state = 5_u32;
    (0..(seconds * rate as f32) as u32)
        .map(|i| {
            let t = i as f32 / rate as f32;
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let noise = (state as f32 / u32::MAX as f32 - 0.5) * 400.0;
            let partials: f32 = (3_u8..23)
                .map(|k| (TAU * 120.0 * f32::from(k) * t).sin())
                .sum();
            (noise + 1500.0 * (TAU * 2.0 * t).sin().powi(2) * partials) as i16
        })
        .collect()
}

fn noise(seed: u32, count: usize, peak: f32) -> Vec<i16> {
    let mut state = seed;
    (0..count)
        .map(|_| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            ((state as f32 / u32::MAX as f32 - 0.5) * peak) as i16
        })
        .collect()
}

#[test]
fn odd_recordings_neither_panic_nor_give_nonsense_numbers() -> Result<(), RecogniserError> {
    let ear = SpeechRecogniser::with_model(BabblingModel);
    let square = (0..16_000)
        .map(|i| if i / 20 % 2 == 0 { i16::MAX } else { i16::MIN })
        .collect();
    let recordings: [Vec<i16>; 9] = [
        vec![],
        vec![i16::MIN],
        vec![0; 40_000],
        vec![i16::MAX; 40_000],
        square,
        noise(1, 200_000, 60_000.0),
        noise(2, 100_000, 30.0),
        [vec![0; 9_000], noise(3, 5_000, 60_000.0), vec![0; 9_000]].concat(),
        voice(3.0, 8_000),
    ];
    for recording in &recordings {
        for rate in [4_000, 8_000, 11_025, 16_000, 44_100, 384_000] {
            let hearing = ear.hear(recording, rate)?;
            let fair = |p: f64| (0.0..=1.0).contains(&p);
            assert!(hearing.words.iter().all(|w| fair(w.probability)));
            assert!(hearing.signs.iter().all(|s| fair(s.probability)));
            assert!(hearing.probability_of("W7QTM", 0.0, 1e9).is_none_or(fair));
            assert!(
                hearing
                    .words
                    .windows(2)
                    .all(|w| w[0].span_s.0 <= w[1].span_s.0)
            );
        }
    }
    Ok(())
}

#[test]
fn transcripts_of_anything_are_in_order_and_within_the_recording() -> Result<(), RecogniserError> {
    let recordings = [
        vec![],
        vec![0; 40_000],
        voice(0.4, 8_000),
        voice(3.0, 8_000),
        voice(41.0, 8_000),
        [vec![0; 90_000], voice(13.0, 8_000), vec![0; 90_000]].concat(),
    ];
    let mut words = 0;
    for recording in &recordings {
        let hearing = written(recording, 8_000)?;
        let mut at_s = 0.0;
        for word in &hearing.transcript {
            let (from_s, to_s) = word.span_s;
            assert!(from_s >= at_s && to_s >= from_s, "{word:?} after {at_s}");
            at_s = to_s;
            assert!((0.0..=1.0).contains(&word.probability), "{word:?}");
            let fair = |c: char| c.is_ascii_lowercase() || c == '\'';
            assert!(
                !word.text.is_empty() && word.text.chars().all(fair),
                "{word:?}"
            );
        }
        assert!(at_s <= recording.len() as f64 / 8_000.0 + 1e-9);
        words += hearing.transcript.len();
    }
    assert!(words > 20, "{words}");
    Ok(())
}

#[test]
fn a_transcript_is_only_written_where_it_is_asked_for() -> Result<(), RecogniserError> {
    let recording = voice(14.0, 8_000);
    let ear = SpeechRecogniser::with_model(BabblingModel);
    assert!(ear.hear(&recording, 8_000)?.transcript.is_empty());
    assert!(!written(&recording, 8_000)?.transcript.is_empty());
    assert!(!ear.transcribe_stretch(&recording, 8_000, 3.0)?.is_empty());
    assert!(ear.transcribe_stretch(&recording, 1, 0.0).is_err());
    Ok(())
}

#[test]
fn silence_costs_no_model_time_and_gives_no_words() -> Result<(), RecogniserError> {
    let hearing = SpeechRecogniser::with_model(BabblingModel).hear(&[0; 160_000], 16_000)?;
    assert!(hearing.speech.is_empty() && hearing.words.is_empty());
    Ok(())
}

#[test]
fn rates_that_no_card_has_are_refused() {
    for rate in [0, 1, 3_999, 384_001, u32::MAX] {
        let refused = SpeechRecogniser::with_model(BabblingModel).hear(&[0; 10], rate);
        assert!(matches!(refused, Err(RecogniserError::Rate(r)) if r == rate));
    }
}

#[test]
fn what_the_model_says_comes_out_with_signs_report_and_name() -> Result<(), RecogniserError> {
    let model =
        ScriptedModel::words("kilo bravo zero quebec sierra echo you are five seven name is ruth");
    let hearing = SpeechRecogniser::with_model(model).hear(&voice(7.5, 16_000), 16_000)?;
    assert_eq!(hearing.signs.len(), 1);
    assert_eq!(hearing.signs[0].text, "KB0QSE");
    assert!(
        hearing.signs[0].probability > 0.8,
        "{}",
        hearing.signs[0].probability
    );
    assert_eq!(
        hearing
            .reports
            .iter()
            .map(|r| r.text.as_str())
            .collect::<Vec<_>>(),
        ["57"]
    );
    assert_eq!(
        hearing
            .names
            .iter()
            .map(|r| r.text.as_str())
            .collect::<Vec<_>>(),
        ["Ruth"]
    );
    assert!(hearing.probability_of("KB0QSE", 0.0, 7.5) > Some(0.8));
    assert!(hearing.probability_of("KB0QSF", 0.0, 7.5) < Some(0.1));
    Ok(())
}

#[test]
fn a_sign_said_again_is_one_sign_and_surer() -> Result<(), RecogniserError> {
    let once = "whiskey seven quebec tango mike";
    let sure = |text: &str| -> Result<(usize, f64, usize), RecogniserError> {
        let hearing = SpeechRecogniser::with_model(ScriptedModel::words(text))
            .hear(&voice(7.5, 16_000), 16_000)?;
        let first = hearing.signs.first();
        assert_eq!(first.map(|s| s.text.as_str()), Some("W7QTM"));
        Ok((
            hearing.signs.len(),
            first.map_or(0.0, |s| s.probability),
            first.map_or(0, |s| s.spans_s.len()),
        ))
    };
    let (_, alone, _) = sure(once)?;
    let (signs, again, times) = sure(&format!("{once} over {once}"))?;
    assert_eq!((signs, times), (1, 2));
    assert!(again >= alone, "{again} {alone}");
    Ok(())
}

#[test]
fn the_windows_of_a_long_recording_join_without_gap() -> Result<(), RecogniserError> {
    let hearing = SpeechRecogniser::with_model(BabblingModel).hear(&voice(41.0, 8_000), 8_000)?;
    let heard: f64 = hearing.speech.iter().map(|(a, b)| b - a).sum();
    assert!(heard > 30.0, "{heard}");
    let longest = hearing
        .words
        .windows(2)
        .map(|w| w[1].span_s.0 - w[0].span_s.1)
        .fold(0.0, f64::max);
    assert!(longest < 1.0, "{longest}");
    Ok(())
}
