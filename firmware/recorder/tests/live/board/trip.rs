//! Reads back what the recorder wrote, with nothing of the recorder's own but
//! the records.

use std::fs;
use std::path::{Path, PathBuf};

use jumpseat_core::journal::{Direction, Event, Record, verify};

/// A trip folder.
pub(crate) struct Trip {
    dir: PathBuf,
    /// Records whose checksums are right, in order.
    pub(crate) records: Vec<Record>,
}

/// One audio file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Piece {
    /// Which channel.
    pub(crate) direction: Direction,
    /// Sample count of its first sample.
    pub(crate) first: u64,
    /// Its samples, from the file's own header.
    pub(crate) samples: Vec<i16>,
    /// The journal says that it was completed.
    pub(crate) closed: bool,
}

impl Trip {
    /// Opens the trips on a card.
    pub(crate) fn all(card: &Path) -> Vec<Self> {
        let mut trips: Vec<PathBuf> = fs::read_dir(card)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .filter(|path| path.is_dir())
            .collect();
        trips.sort();
        trips.into_iter().map(Self::open).collect()
    }

    fn open(dir: PathBuf) -> Self {
        let journal = fs::read_to_string(dir.join("journal.jsonl")).unwrap();
        let records = journal
            .lines()
            .filter_map(|line| verify(line.as_bytes()).ok())
            .map(|json| serde_json::from_slice(json).unwrap())
            .collect();
        Self { dir, records }
    }

    /// The audio files in order, read by their headers.
    pub(crate) fn pieces(&self) -> Vec<Piece> {
        self.records
            .iter()
            .filter_map(|record| match record.event {
                Event::SegmentOpened {
                    segment,
                    direction,
                    first_sample,
                } => Some(self.piece(segment, direction, first_sample)),
                _ => None,
            })
            .collect()
    }

    /// Whether some record fits.
    pub(crate) fn has(&self, fits: impl Fn(&Event) -> bool) -> bool {
        self.records.iter().any(|record| fits(&record.event))
    }

    /// The journal as text, for messages.
    pub(crate) fn journal(&self) -> String {
        fs::read_to_string(self.dir.join("journal.jsonl")).unwrap()
    }

    fn piece(&self, number: u32, direction: Direction, first: u64) -> Piece {
        let name = format!("audio/{number:06}-{}.wav", direction.word());
        let mut wav = hound::WavReader::open(self.dir.join(name)).unwrap();
        let samples: Vec<i16> = wav.samples().collect::<Result<_, _>>().unwrap();
        let closed = self.has(|event| match *event {
            Event::SegmentClosed { segment, count, .. } if segment == number => {
                assert_eq!(count, samples.len() as u64, "segment {number}");
                true
            }
            _ => false,
        });
        Piece {
            direction,
            first,
            samples,
            closed,
        }
    }
}
