//! Which first names may have been said in WAV files of 16 bits and one channel, each as one
//! stretch: a line of JSON for each place where the text introduces a name, with the figures that
//! the probabilities are made of, to fit `src/calibration.rs` to (`model/named.py`).
//!
//! `names [--weights FILE.onnx] FILE.wav …`

use std::error::Error;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use jumpseat_speech::{RtenModel, SpeechRecogniser};

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
        let words = ear.spoken_words(&samples, rate, 0.0)?;
        let text: Vec<&str> = words.iter().map(|word| word.text.as_str()).collect();
        for word in &words {
            let Some(reading) = &word.name else { continue };
            let figures = reading.names.iter().map(|one| {
                serde_json::json!({
                    "name": one.name,
                    "class": one.class,
                    "letters": one.letters,
                    "decoder": one.decoder,
                })
            });
            let line = serde_json::json!({
                "file": file,
                "text": text.join(" "),
                "written": word.text,
                "heard": reading.heard,
                "names": reading.probabilities(),
                "figures": figures.collect::<Vec<_>>(),
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
