//! Writes down what is said in WAV files of 16 bits and one channel, each as one stretch:
//! a line of JSON for each word with the figures that its probability is made of, to fit
//! `src/calibration.rs` to. On standard error the time that it took, and what was said.
//!
//! `transcripts [--weights FILE.onnx] FILE.wav …`

use std::error::Error;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::Instant;

use jumpseat_speech::{RtenModel, SpeechRecogniser, TranscriptWord};

fn main() -> Result<(), Box<dyn Error>> {
    let mut files: Vec<PathBuf> = std::env::args_os().skip(1).map(PathBuf::from).collect();
    let ear = if files
        .first()
        .is_some_and(|file| file == Path::new("--weights"))
    {
        let weights = files.get(1).ok_or("--weights needs a file")?;
        let ear = SpeechRecogniser::with_model(RtenModel::open(weights)?);
        files.drain(..2);
        ear
    } else {
        SpeechRecogniser::built_in()?
    };
    for file in &files {
        let (samples, rate) = read(file)?;
        let started = Instant::now();
        let words = ear.spoken_words(&samples, rate, 0.0)?;
        let taken_s = started.elapsed().as_secs_f64();
        let text: Vec<&str> = words.iter().map(|word| word.text.as_str()).collect();
        let length_s = samples.len() as f64 / f64::from(rate);
        eprintln!(
            "{}: {length_s:.1} s, took {taken_s:.2} s: {}",
            file.display(),
            text.join(" ")
        );
        for word in words {
            let (decoder, letters) = (word.decoder, word.letters);
            let word = TranscriptWord::from(word);
            let line = serde_json::json!({
                "file": file,
                "text": word.text,
                "span_s": word.span_s,
                "decoder": decoder,
                "letters": letters,
                "probability": word.probability,
            });
            writeln!(io::stdout(), "{line}")?;
        }
    }
    Ok(())
}

/// The samples and the rate of a WAV file.
fn read(file: &Path) -> Result<(Vec<i16>, u32), Box<dyn Error>> {
    let named = |error: hound::Error| format!("{}: {error}", file.display());
    let mut reader = hound::WavReader::open(file).map_err(named)?;
    if reader.spec().channels != 1 {
        return Err(format!("{} has several channels", file.display()).into());
    }
    let samples = reader.samples().collect::<Result<_, _>>().map_err(named)?;
    Ok((samples, reader.spec().sample_rate))
}
