//! FLAC files: what a kept or packed trip may hold instead of WAV.

use std::fs;
use std::io::Cursor;
use std::path::Path;

use symphonia::core::audio::sample::Sample as _;
use symphonia::core::codecs::audio::{AudioDecoder, AudioDecoderOptions};
use symphonia::core::errors::Error;
use symphonia::core::formats::{FormatReader, TrackType};
use symphonia::core::io::MediaSourceStream;
use symphonia::default::formats::FlacReader;

/// What a FLAC file says of itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Flac {
    /// Samples per second.
    pub sample_rate: u32,
    /// Bits per sample.
    pub bits: u32,
    /// Channels.
    pub channels: usize,
    /// Samples according to its header; 0 when it does not know.
    pub declared: u64,
}

/// Reads the header. `Err` says in plain words why it is no FLAC file.
pub(crate) fn probe(path: &Path) -> Result<Flac, String> {
    Ok(open(path)?.shape)
}

/// Decodes the whole file, as far as it goes.
pub(crate) fn read(path: &Path) -> Result<Vec<i16>, String> {
    let mut file = open(path)?;
    let mut samples = Vec::new();
    let mut block = Vec::new();
    loop {
        let packet = match file.reader.next_packet() {
            Ok(Some(packet)) => packet,
            // A file that was cut ends like one that was not; the caller
            // compares the count.
            Ok(None) | Err(Error::IoError(_)) => break,
            Err(error) => return Err(error.to_string()),
        };
        match file.decoder.decode(&packet) {
            Ok(decoded) => {
                block.resize(decoded.samples_interleaved(), i16::MID);
                decoded.copy_to_slice_interleaved(&mut block);
                samples.extend_from_slice(&block);
            }
            Err(Error::DecodeError(_) | Error::IoError(_)) => break,
            Err(error) => return Err(error.to_string()),
        }
    }
    Ok(samples)
}

/// A trip's file is five minutes at most, at 48 kHz 29 MB before it is packed.
const MOST_BYTES: u64 = 64 << 20;

/// Some encoders count the shorter last block when they write the smallest block
/// size, which RFC 9639 §8.2 forbids, and the decoder then takes the stream for one
/// of variable blocks. The first frame says which it is (§9.1.2).
fn mend(bytes: &mut [u8]) {
    const LEAST: std::ops::Range<usize> = 8..10;
    const MOST: std::ops::Range<usize> = 10..12;
    let fixed = first_frame(bytes).is_some_and(|frame| frame.starts_with(&[0xff, 0xf8]));
    if fixed && bytes.len() >= MOST.end {
        bytes.copy_within(MOST, LEAST.start);
    }
}

/// What follows the metadata blocks (§8.1).
fn first_frame(bytes: &[u8]) -> Option<&[u8]> {
    let mut rest = bytes.strip_prefix(b"fLaC")?;
    loop {
        let (&[kind, high, middle, low], after) = rest.split_first_chunk()?;
        rest = after.get(u32::from_be_bytes([0, high, middle, low]) as usize..)?;
        if kind & 0x80 != 0 {
            return Some(rest);
        }
    }
}

struct Open {
    shape: Flac,
    reader: FlacReader<'static>,
    decoder: Box<dyn AudioDecoder>,
}

fn open(path: &Path) -> Result<Open, String> {
    let bytes = fs::metadata(path).map_err(|error| error.to_string())?.len();
    if bytes > MOST_BYTES {
        return Err(format!(
            "{bytes} bytes are more than the {} MB that such a file may have here",
            MOST_BYTES / 1_000_000
        ));
    }
    let mut bytes = fs::read(path).map_err(|error| error.to_string())?;
    mend(&mut bytes);
    let stream = MediaSourceStream::new(Box::new(Cursor::new(bytes)), Default::default());
    let no_flac = |error: Error| format!("it is no FLAC file: {error}");
    let reader = FlacReader::try_new(stream, Default::default()).map_err(no_flac)?;
    let track = reader
        .default_track(TrackType::Audio)
        .ok_or("it has no audio in it")?;
    let declared = track.num_frames.unwrap_or(0);
    let codec = track
        .codec_params
        .as_ref()
        .and_then(|codec| codec.audio())
        .ok_or("it has no audio in it")?;
    let shape = Flac {
        sample_rate: codec.sample_rate.unwrap_or(0),
        bits: codec.bits_per_sample.unwrap_or(0),
        channels: codec
            .channels
            .as_ref()
            .map_or(0, |channels| channels.count()),
        declared,
    };
    let decoder = symphonia::default::get_codecs()
        .make_audio_decoder(codec, &AudioDecoderOptions::default())
        .map_err(no_flac)?;
    Ok(Open {
        shape,
        reader,
        decoder,
    })
}
