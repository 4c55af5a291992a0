//! Decodes FLAC files, which a packed trip holds instead of WAV, block by block: a file may
//! be longer than memory.

use std::fs::File;
use std::io::{self, BufReader, Cursor, Read, Seek, SeekFrom};
use std::path::Path;

use jumpseat_files::open_regular_file;
use symphonia::core::audio::sample::Sample as _;
use symphonia::core::codecs::audio::{AudioDecoder, AudioDecoderOptions};
use symphonia::core::errors::Error;
use symphonia::core::formats::{FormatReader, TrackType};
use symphonia::core::io::{MediaSourceStream, ReadOnlySource};
use symphonia::default::formats::FlacReader;

/// The format that a FLAC file's header states.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct FlacFormat {
    /// Samples per second.
    pub sample_rate: u32,
    /// Bits per sample.
    pub bits: u32,
    /// Channels.
    pub channels: usize,
    /// Samples according to its header; 0 when it does not know.
    pub declared: u64,
}

/// Reads the header. `Err` says in plain words why it is not a FLAC file.
pub(crate) fn probe(path: &Path) -> Result<FlacFormat, String> {
    let file = open_regular_file(path).map_err(|error| error.to_string())?;
    Ok(FlacStream::open(file, false)?.shape)
}

/// Why there is no next block.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum FlacTrouble {
    /// What should follow is missing or damaged.
    Damaged,
    /// All is there, and it is not what was packed.
    Altered,
    /// The file could not be read or decoded: the system's or the decoder's words.
    Unreadable(String),
}

/// A FLAC file, opened.
pub(crate) struct FlacStream {
    pub shape: FlacFormat,
    /// Samples of each channel that were decoded.
    pub frames: u64,
    /// The number of its first sample, in its own count, once a block was read.
    first: Option<u64>,
    /// Bytes that were not decoded yet.
    left: u64,
    reader: FlacReader<'static>,
    decoder: Box<dyn AudioDecoder>,
}

impl FlacStream {
    /// Reads a file from its start; with `verify`, the end compares the sound with the checksum that
    /// the header has of it. `Err` says in plain words why it is not a FLAC file.
    pub(crate) fn open(file: File, verify: bool) -> Result<Self, String> {
        let (source, left) = source(file).map_err(|error| error.to_string())?;
        let stream =
            MediaSourceStream::new(Box::new(ReadOnlySource::new(source)), Default::default());
        let no_flac = |error: Error| format!("it is not a FLAC file: {error}");
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
        let shape = FlacFormat {
            sample_rate: codec.sample_rate.unwrap_or(0),
            bits: codec.bits_per_sample.unwrap_or(0),
            channels: codec
                .channels
                .as_ref()
                .map_or(0, |channels| channels.count()),
            declared,
        };
        let decoder = symphonia::default::get_codecs()
            .make_audio_decoder(codec, &AudioDecoderOptions::default().verify(verify))
            .map_err(no_flac)?;
        Ok(Self {
            shape,
            frames: 0,
            first: None,
            left,
            reader,
            decoder,
        })
    }

    /// Puts the next samples into `block`, channels in turn; false at the end of a complete
    /// file.
    pub(crate) fn next(&mut self, block: &mut Vec<i16>) -> Result<bool, FlacTrouble> {
        let packet = match self.reader.next_packet() {
            Ok(Some(packet)) => packet,
            Ok(None) => return self.end(),
            Err(error) => return Err(trouble(error)),
        };
        // The reader passes over a frame whose checksum is wrong.
        let at = u64::try_from(packet.pts.get()).unwrap_or(0);
        if at != *self.first.get_or_insert(at) + self.frames {
            return Err(FlacTrouble::Damaged);
        }
        let decoded = self.decoder.decode(&packet).map_err(trouble)?;
        block.resize(decoded.samples_interleaved(), i16::MID);
        decoded.copy_to_slice_interleaved(block);
        self.frames += decoded.frames() as u64;
        self.left = self.left.saturating_sub(packet.data.len() as u64);
        Ok(true)
    }

    /// A file that was cut may end like one that was not.
    fn end(&mut self) -> Result<bool, FlacTrouble> {
        let whole = match self.shape.declared {
            0 => self.left == 0,
            declared => self.frames >= declared,
        };
        if !whole {
            Err(FlacTrouble::Damaged)
        } else if self.decoder.finalize().verify_ok == Some(false) {
            Err(FlacTrouble::Altered)
        } else {
            Ok(false)
        }
    }
}

fn trouble(error: Error) -> FlacTrouble {
    match error {
        Error::IoError(error) if error.kind() != io::ErrorKind::UnexpectedEof => {
            FlacTrouble::Unreadable(error.to_string())
        }
        Error::IoError(_) | Error::DecodeError(_) => FlacTrouble::Damaged,
        error => FlacTrouble::Unreadable(error.to_string()),
    }
}

/// Where the header has the smallest and the largest block size (RFC 9639 §8.2).
const SMALLEST_BLOCK_FIELD: std::ops::Range<usize> = 8..10;
const LARGEST_BLOCK_FIELD: std::ops::Range<usize> = 10..12;

/// The bytes of a file, and how many of them are frames.
///
/// Some encoders count the shorter last block when they write the smallest block size,
/// which RFC 9639 §8.2 forbids, and the decoder then takes the stream for one of
/// variable blocks. The first frame says which it is (§9.1.2).
fn source(file: File) -> io::Result<(impl Read + Send + Sync + 'static, u64)> {
    let mut file = BufReader::new(file);
    let mut head = Vec::with_capacity(LARGEST_BLOCK_FIELD.end);
    file.by_ref()
        .take(LARGEST_BLOCK_FIELD.end as u64)
        .read_to_end(&mut head)?;
    let mut left = 0;
    if head.len() == LARGEST_BLOCK_FIELD.end
        && let Some(at) = first_frame(&mut file)?
    {
        left = file.get_ref().metadata()?.len().saturating_sub(at);
        let mut sync = [0; 2];
        let read = file.read_exact(&mut sync);
        if read.is_ok() && sync == [0xff, 0xf8] {
            head.copy_within(LARGEST_BLOCK_FIELD, SMALLEST_BLOCK_FIELD.start);
        }
    }
    file.seek(SeekFrom::Start(head.len() as u64))?;
    Ok((Cursor::new(head).chain(file), left))
}

/// Where the first frame begins, after the metadata blocks (§8.1).
fn first_frame(file: &mut BufReader<File>) -> io::Result<Option<u64>> {
    let mut at = 0;
    file.seek(SeekFrom::Start(at))?;
    let mut word = [0; 4];
    let mut next = |file: &mut BufReader<File>| match file.read_exact(&mut word) {
        Ok(()) => Ok(Some(word)),
        Err(error) if error.kind() == io::ErrorKind::UnexpectedEof => Ok(None),
        Err(error) => Err(error),
    };
    if next(file)? != Some(*b"fLaC") {
        return Ok(None);
    }
    at += 4;
    while let Some([kind, high, middle, low]) = next(file)? {
        let length = u32::from_be_bytes([0, high, middle, low]);
        file.seek_relative(length.into())?;
        at += 4 + u64::from(length);
        if kind & 0x80 != 0 {
            return Ok(Some(at));
        }
    }
    Ok(None)
}
