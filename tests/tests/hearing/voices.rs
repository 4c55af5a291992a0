//! Who says the signs.

use std::path::{Path, PathBuf};
use std::process::Command;

use jumpseat_simulator::random::SeededRandom;
use jumpseat_speech::{mel, resample::resample};
use jumpseat_test_kit as kit;
use jumpseat_vocabulary::{TokenKind, tokens};

/// Where Debian's asterisk-core-sounds-en-wav puts its words.
const WORDS: &str = "/usr/share/asterisk/sounds/en_US_f_Allison";

/// A sign said by the real speaker: her words with 60 to 150 ms between them.
pub(crate) fn recorded(sign: &str, random: &mut SeededRandom) -> Vec<f32> {
    let mut out = Vec::new();
    for symbol in sign.chars() {
        let path = match symbol {
            '0'..='9' => format!("{WORDS}/digits/{symbol}.wav"),
            _ => format!("{WORDS}/phonetic/{}_p.wav", symbol.to_ascii_lowercase()),
        };
        out.extend(trimmed(&samples(Path::new(&path))));
        out.resize(
            out.len() + (random.between(0.06, 0.15) * f64::from(mel::MODEL_SAMPLE_RATE)) as usize,
            0.0,
        );
    }
    out
}

/// A text said by flite.
pub(crate) fn flite(text: &str, folder: &Path) -> Vec<f32> {
    let path: PathBuf = folder.join("flite.wav");
    let mut flite = Command::new("flite");
    flite.args(["-voice", "rms", "-t", text, "-o"]).arg(&path);
    kit::run(&mut flite).unwrap();
    trimmed(&samples(&path))
}

/// A sign in the spelling words.
pub(crate) fn spelt(sign: &str) -> String {
    let figures = [
        "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
    ];
    let word = |c: char| match c.to_digit(10) {
        Some(figure) => figures[figure as usize],
        None => tokens()
            .iter()
            .find(|t| t.kind == TokenKind::Itu && t.symbol == c.to_string())
            .map_or("", |t| t.word),
    };
    let words: Vec<&str> = sign.chars().map(word).collect();
    words
        .join(", ")
        .replace("alfa", "alpha")
        .replace("juliett", "juliet")
}

/// A WAV file at 8 kHz.
fn samples(path: &Path) -> Vec<f32> {
    let mut reader = hound::WavReader::open(path).unwrap_or_else(|e| {
        panic!(
            "{}: {e}; install asterisk-core-sounds-en-wav and flite",
            path.display()
        )
    });
    let rate = reader.spec().sample_rate;
    let samples: Vec<f32> = reader
        .samples::<i16>()
        .map(|s| f32::from(s.unwrap()) / 32768.0)
        .collect();
    resample(&samples, rate, mel::MODEL_SAMPLE_RATE)
}

/// Without the silence at both ends, at one loudness.
fn trimmed(x: &[f32]) -> Vec<f32> {
    let least = x.iter().fold(0.0_f32, |m, v| m.max(v.abs())) * 0.02;
    let loud = |v: &f32| v.abs() > least;
    let first = x.iter().position(loud).unwrap_or(0);
    let end = x.iter().rposition(loud).map_or(0, |k| k + 1);
    let part = &x[first..end.max(first)];
    let power = part.iter().map(|v| v * v).sum::<f32>() / part.len().max(1) as f32;
    part.iter()
        .map(|v| v * 0.1 / power.sqrt().max(1e-9))
        .collect()
}
