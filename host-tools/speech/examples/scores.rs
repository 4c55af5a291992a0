//! The model's log-probabilities of raw 16-bit samples at 8 kHz on standard input, as
//! 32-bit floats on standard output: to compare processors, as `model/MODEL.md` says.

use std::error::Error;
use std::io::{self, Read, Write};

use jumpseat_speech::SpeechRecogniser;

fn main() -> Result<(), Box<dyn Error>> {
    let mut bytes = Vec::new();
    io::stdin().read_to_end(&mut bytes)?;
    let samples: Vec<i16> = bytes
        .chunks_exact(2)
        .map(|s| i16::from_le_bytes([s[0], s[1]]))
        .collect();
    for stretch in SpeechRecogniser::built_in()?.score_stretches(&samples, 8000)? {
        let scores: Vec<u8> = stretch.plain.iter().flat_map(|p| p.to_le_bytes()).collect();
        io::stdout().write_all(&scores)?;
    }
    Ok(())
}
