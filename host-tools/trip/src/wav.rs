//! WAV files, also those that nobody closed.
//!
//! A recorder that lost its power leaves a header whose lengths are zero or too small
//! (they are written when the file is closed or flushed), which a library believes. So
//! the chunks are walked here, and what lies after the header up to the end of the
//! file is the audio.
//! RIFF/WAVE: Microsoft and IBM, "Multimedia Programming Interface and Data
//! Specifications 1.0" (1991), chapter 3.

use std::io::{Read, Seek, SeekFrom};

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
