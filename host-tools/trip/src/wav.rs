//! Headers of WAV files, read also where nobody completed them.
//!
//! A recorder that lost its power leaves a header whose lengths are zero or too small:
//! they are written when the file is closed or flushed. hound believes them. So the
//! chunks are walked here, and everything after the header up to the end of the file is
//! audio. The header is written here for a file that is sent in pieces; hound can only
//! write one together with all of its samples.
//! RIFF/WAVE: Microsoft and IBM, "Multimedia Programming Interface and Data
//! Specifications 1.0" (1991), chapter 3.

use std::io::{Read, Seek, SeekFrom};

/// Bytes of the header that a recorder writes, before the first sample: RIFF, format and
/// data, each with its length, and nothing else.
pub const WAV_HEADER_BYTES: u64 = 44;

/// That header for so many samples of 16 bits in one channel. A length that a WAV file
/// cannot state is written as the longest that it can.
pub fn wav_header(sample_rate: u32, samples: u64) -> Vec<u8> {
    let most = u32::MAX - 36;
    let data = u32::try_from(samples.saturating_mul(2)).map_or(most, |bytes| bytes.min(most));
    let mut header = Vec::with_capacity(WAV_HEADER_BYTES as usize);
    header.extend(b"RIFF");
    header.extend((data + 36).to_le_bytes());
    header.extend(b"WAVEfmt ");
    header.extend(16_u32.to_le_bytes());
    // PCM, one channel.
    header.extend([1, 0, 1, 0]);
    header.extend(sample_rate.to_le_bytes());
    header.extend(sample_rate.saturating_mul(2).to_le_bytes());
    // Bytes and bits of a sample.
    header.extend([2, 0, 16, 0]);
    header.extend(b"data");
    header.extend(data.to_le_bytes());
    header
}

/// What a WAV file says and has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct WavLayout {
    /// Samples per second.
    pub sample_rate: u32,
    /// Bits per sample.
    pub bits: u16,
    /// Channels.
    pub channels: u16,
    /// Where the audio begins, in bytes.
    pub start: u64,
    /// Bytes of audio according to the header.
    pub declared: u64,
    /// Bytes from there to the end of the file.
    pub present: u64,
}

/// Header chunks before the audio are few; more than this is no recording.
const MOST_CHUNKS: usize = 64;

/// Walks the chunks up to the audio. `Err` says in plain words why it is no WAV.
pub(crate) fn probe<R: Read + Seek>(file: &mut R) -> Result<WavLayout, String> {
    let end = file
        .seek(SeekFrom::End(0))
        .map_err(|error| error.to_string())?;
    file.rewind().map_err(|error| error.to_string())?;
    if end == 0 {
        return Err("the file is empty".into());
    }
    let mut head = [0_u8; 12];
    read(file, &mut head)?;
    if &head[..4] != b"RIFF" || &head[8..] != b"WAVE" {
        return Err("it does not begin as a WAV file".into());
    }
    let mut format = None;
    let mut at = 12_u64;
    for _ in 0..MOST_CHUNKS {
        let mut chunk = [0_u8; 8];
        read(file, &mut chunk)?;
        at += 8;
        let size = u64::from(u32::from_le_bytes([chunk[4], chunk[5], chunk[6], chunk[7]]));
        if &chunk[..4] == b"data" {
            let (sample_rate, bits, channels) =
                format.ok_or("its audio comes before its format")?;
            return Ok(WavLayout {
                sample_rate,
                bits,
                channels,
                start: at,
                declared: size,
                present: end.saturating_sub(at),
            });
        }
        if &chunk[..4] == b"fmt " {
            let mut fields = [0_u8; 16];
            read(file, &mut fields)?;
            format = Some(pcm(&fields)?);
        }
        // Chunks are padded to an even length.
        at += size + size % 2;
        if at >= end {
            break;
        }
        file.seek(SeekFrom::Start(at))
            .map_err(|error| error.to_string())?;
    }
    Err("it has no audio in it".into())
}

fn read<R: Read>(file: &mut R, bytes: &mut [u8]) -> Result<(), String> {
    file.read_exact(bytes)
        .map_err(|_| "its header stops in the middle".to_owned())
}

fn pcm(fields: &[u8; 16]) -> Result<(u32, u16, u16), String> {
    const PCM: u16 = 1;
    const EXTENSIBLE: u16 = 0xfffe;
    let word = |at: usize| u16::from_le_bytes([fields[at], fields[at + 1]]);
    let kind = word(0);
    if kind != PCM && kind != EXTENSIBLE {
        return Err(format!("its samples are of kind {kind}, not plain PCM"));
    }
    let rate = u32::from_le_bytes([fields[4], fields[5], fields[6], fields[7]]);
    Ok((rate, word(14), word(2)))
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use super::*;

    #[test]
    fn the_header_is_the_one_that_recorders_write() {
        let spec = hound::WavSpec {
            channels: 1,
            sample_rate: 16_000,
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        let mut file = Cursor::new(Vec::new());
        let mut wav = hound::WavWriter::new(&mut file, spec).unwrap();
        for sample in [1_i16, -1, 2] {
            wav.write_sample(sample).unwrap();
        }
        wav.finalize().unwrap();
        let header = wav_header(16_000, 3);
        assert_eq!(header.len() as u64, WAV_HEADER_BYTES);
        assert_eq!(file.get_ref()[..header.len()], header);
        let layout = probe(&mut file).unwrap();
        assert_eq!(layout.start, WAV_HEADER_BYTES);
        assert_eq!((layout.declared, layout.present), (6, 6));
    }

    #[test]
    fn a_length_beyond_four_gigabytes_is_the_longest_there_is() {
        for samples in [1 << 31, u64::MAX] {
            let header = wav_header(48_000, samples);
            assert_eq!(header[4..8], u32::MAX.to_le_bytes());
        }
    }
}
