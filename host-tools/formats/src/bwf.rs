//! Writes Broadcast Wave files: EBU Tech 3285, version 1 of the `bext` chunk; 16-bit
//! PCM, one channel.

use std::io::Cursor;

use chrono::{DateTime, Timelike as _, Utc};

/// Bytes of a `bext` chunk before its coding history.
const BEXT_BYTES: usize = 602;
/// Bytes of its reserved end, in version 1, and of the identifier before it.
const UMID_BYTES: usize = 64;
const RESERVED_BYTES: usize = 190;

/// "RIFF", a length and "WAVE".
const RIFF_BYTES: usize = 12;
/// What the length counts besides our chunk and the samples: "WAVE", and the format and
/// data chunks with their heads.
const WAV_REST_BYTES: usize = 4 + 8 + 16 + 8;

/// The samples do not fit into one file: more than 4 GB.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the sound is too long for one WAV file")]
pub struct WaveTooLong;

/// What a file states about its sound.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BroadcastDescription<'a> {
    /// Free text; its first 256 bytes are kept.
    pub description: &'a str,
    /// Who recorded it; its first 32 bytes are kept.
    pub originator: &'a str,
    /// UTC of the first sample.
    pub start: DateTime<Utc>,
}

/// The bytes of a file with these samples, full scale ±32768.
pub fn write(
    about: &BroadcastDescription<'_>,
    rate: u32,
    samples: &[i16],
) -> Result<Vec<u8>, WaveTooLong> {
    let bext = bext(about, rate);
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: rate,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    // The header names the length of all that follows it.
    let rest = 8 + bext.len() + WAV_REST_BYTES + samples.len() * 2;
    let rest = u32::try_from(rest).map_err(|_| WaveTooLong)?;
    let mut wav = Cursor::new(Vec::with_capacity(rest as usize + RIFF_BYTES));
    write_samples(&mut wav, spec, samples).map_err(|_| WaveTooLong)?;
    let mut file = wav.into_inner();
    // hound knows no such chunk: it goes in between RIFF's head and the format.
    let mut chunk = b"bext".to_vec();
    // Shorter than a kilobyte.
    chunk.extend_from_slice(&(bext.len() as u32).to_le_bytes());
    chunk.extend_from_slice(&bext);
    file.splice(RIFF_BYTES..RIFF_BYTES, chunk);
    file[4..8].copy_from_slice(&rest.to_le_bytes());
    Ok(file)
}

fn write_samples(
    wav: &mut Cursor<Vec<u8>>,
    spec: hound::WavSpec,
    samples: &[i16],
) -> Result<(), hound::Error> {
    let mut writer = hound::WavWriter::new(wav, spec)?;
    for &sample in samples {
        writer.write_sample(sample)?;
    }
    writer.finalize()
}

fn bext(about: &BroadcastDescription<'_>, rate: u32) -> Vec<u8> {
    let mut bext = Vec::with_capacity(BEXT_BYTES + 40);
    fixed(&mut bext, about.description, 256);
    fixed(&mut bext, about.originator, 32);
    // The reference names a recording within an organisation; we have none.
    fixed(&mut bext, "", 32);
    fixed(&mut bext, &about.start.format("%Y-%m-%d").to_string(), 10);
    fixed(&mut bext, &about.start.format("%H:%M:%S").to_string(), 8);
    // Samples since midnight. A leap second counts as the second before it.
    let second = u64::from(about.start.num_seconds_from_midnight());
    let nanos = u64::from(about.start.nanosecond() % 1_000_000_000);
    let part = (nanos * u64::from(rate) + 500_000_000) / 1_000_000_000;
    let reference = second * u64::from(rate) + part;
    bext.extend_from_slice(&reference.to_le_bytes());
    bext.extend_from_slice(&1_u16.to_le_bytes());
    bext.resize(bext.len() + UMID_BYTES + RESERVED_BYTES, 0);
    let mut history = format!("A=PCM,F={rate},W=16,M=mono\r\n");
    if history.len() % 2 == 1 {
        history.push('\0');
    }
    bext.extend_from_slice(history.as_bytes());
    bext
}

/// ASCII in a field of fixed length, filled with zeros.
fn fixed(bytes: &mut Vec<u8>, text: &str, length: usize) {
    let end = bytes.len() + length;
    let plain = deunicode::deunicode_with_tofu(text, "");
    bytes.extend(plain.bytes().take(length));
    bytes.resize(end, 0);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(start: &str, date: &str, time: &str, reference: u64) {
        let about = BroadcastDescription {
            description: "José, 14.2875 MHz",
            originator: "Jumpseat",
            start: start.parse().unwrap(),
        };
        let file = write(&about, 16_000, &[1, -1, 2]).unwrap();
        let text = |from: usize, length: usize| {
            let bytes = &file[from..from + length];
            String::from_utf8_lossy(bytes)
                .trim_end_matches('\0')
                .to_owned()
        };
        assert_eq!((text(0, 4), text(8, 8)), ("RIFF".into(), "WAVEbext".into()));
        let size = |at: usize| u32::from_le_bytes(file[at..at + 4].try_into().unwrap()) as usize;
        assert_eq!(size(4) + 8, file.len());
        let bext = 20;
        assert_eq!(size(16), BEXT_BYTES + 28);
        assert_eq!(text(bext, 256), "Jose, 14.2875 MHz");
        assert_eq!(text(bext + 256, 32), "Jumpseat");
        assert_eq!(text(bext + 320, 10), date);
        assert_eq!(text(bext + 330, 8), time);
        let found = u64::from_le_bytes(file[bext + 338..bext + 346].try_into().unwrap());
        assert_eq!(found, reference);
        assert_eq!(text(bext + BEXT_BYTES, 28), "A=PCM,F=16000,W=16,M=mono\r\n");
        let samples = hound::WavReader::new(file.as_slice()).unwrap();
        let samples: Vec<i16> = samples.into_samples().map(Result::unwrap).collect();
        assert_eq!(samples, [1, -1, 2]);
    }

    #[test]
    fn the_time_stands_in_the_file() {
        check("2026-05-14T00:00:00Z", "2026-05-14", "00:00:00", 0);
        check(
            "2026-05-14T15:04:27.500Z",
            "2026-05-14",
            "15:04:27",
            54_267 * 16_000 + 8_000,
        );
        check(
            "2026-12-31T23:59:59.999Z",
            "2026-12-31",
            "23:59:59",
            86_400 * 16_000 - 16,
        );
    }
}
