//! Builds trip folders for tests.

use std::fs;
use std::path::{Path, PathBuf};

use jumpseat_core::journal::{
    AudioDirection, JournalEvent, JournalRecord, ShutdownReason, TimeSource, encode,
};
use jumpseat_trip::{Trip, TripError};
use jumpseat_values::Doubt;
use tempfile::TempDir;

pub(crate) const HEADER: &str = r#"{"format":1,"trip":17,"board":"3fa2c1","boot":"9f2c41d0","station":{"call":"W7QTM","operator":null},"audio":{"sample_rate":16000,"bits":16,"channels":1},"software":"jumpseat-recorder 0.1.0"}"#;

/// Monotonic time of sample 0 in nanoseconds.
pub(crate) const START: u64 = 5_000_000_000;

/// Doubts as a person reads them.
pub(crate) fn sentences(doubts: &[Doubt]) -> Vec<String> {
    doubts.iter().map(ToString::to_string).collect()
}

/// A trip folder that goes away with this value.
pub(crate) struct TestTripFolder {
    _dir: TempDir,
    pub(crate) path: PathBuf,
    pub(crate) records: Vec<JournalRecord>,
}

impl TestTripFolder {
    /// A header and nothing else.
    pub(crate) fn new() -> Self {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("trip-000017-3fa2c1");
        fs::create_dir_all(path.join("audio")).unwrap();
        fs::write(path.join("trip.json"), HEADER).unwrap();
        Self {
            _dir: dir,
            path,
            records: Vec::new(),
        }
    }

    /// A whole trip: receive 2 s, transmit 1 s, receive 1 s; sample n has the value
    /// n modulo 1000.
    pub(crate) fn whole() -> Self {
        let mut folder = Self::new();
        folder.event(
            0.0,
            JournalEvent::Start {
                software: "jumpseat-recorder 0.1.0".try_into().unwrap(),
            },
        );
        folder.dial(0.0, 14_250_000, "USB");
        folder.event(0.5, JournalEvent::Clock { sample: 8_000 });
        folder.segment(1, AudioDirection::Rx, 0, 32_000);
        folder.event(2.0, JournalEvent::Ptt { down: true });
        folder.segment(2, AudioDirection::Tx, 32_000, 16_000);
        folder.event(3.0, JournalEvent::Ptt { down: false });
        folder.event(3.2, JournalEvent::Mark {});
        for second in 0..4 {
            folder.fix(f64::from(second), second);
        }
        folder.segment(3, AudioDirection::Rx, 48_000, 16_000);
        folder.event(
            4.0,
            JournalEvent::Shutdown {
                reason: ShutdownReason::Signal,
            },
        );
        folder
    }

    /// The same from a recorder that repeats trip.json in its journal.
    pub(crate) fn repeated() -> Self {
        let mut folder = Self::whole();
        let header = JournalEvent::Trip {
            format: 1,
            trip: 17,
            board: "3fa2c1".try_into().unwrap(),
            call: Some("W7QTM".try_into().unwrap()),
            operator: None,
            sample_rate: 16_000,
            bits: 16,
            channels: 1,
        };
        folder.event(0.0, header);
        let header = folder.records.pop().unwrap();
        folder.records.insert(1, header);
        folder.without(|_| false);
        folder
    }

    /// Adds a record at a time in seconds from sample 0.
    pub(crate) fn event(&mut self, at_s: f64, event: JournalEvent) {
        self.records.push(JournalRecord {
            seq: self.records.len() as u64 + 1,
            boot: "9f2c41d0".try_into().unwrap(),
            mono_ns: START + (at_s * 1e9) as u64,
            event,
        });
    }

    pub(crate) fn dial(&mut self, at_s: f64, hz: u64, mode: &str) {
        let mode = mode.try_into().unwrap();
        self.event(at_s, JournalEvent::Dial { hz, mode });
    }

    /// A time and position fix at 2026-05-14 15:02:`second`.
    fn fix(&mut self, at_s: f64, second: u32) {
        let utc = format!("2026-05-14T15:02:{second:02}.000Z");
        self.event(
            at_s,
            JournalEvent::TimeFix {
                utc: utc.as_str().try_into().unwrap(),
                source: TimeSource::System,
                valid: true,
                within_ms: None,
            },
        );
        self.position(at_s, 47.0 + f64::from(second) / 1e4, 8.0, true);
    }

    pub(crate) fn position(&mut self, at_s: f64, lat: f64, lon: f64, valid: bool) {
        self.event(
            at_s,
            JournalEvent::PositionFix {
                lat,
                lon,
                alt_m: None,
                speed_mps: None,
                satellites: Some(9),
                hdop: Some(0.9),
                source: jumpseat_core::journal::PositionSource::Gpsd,
                valid,
            },
        );
    }

    /// Opens and closes a segment, and writes its file.
    pub(crate) fn segment(
        &mut self,
        segment: u32,
        direction: AudioDirection,
        first: u64,
        count: u64,
    ) {
        let at_s = first as f64 / 16_000.0;
        self.event(
            at_s,
            JournalEvent::SegmentOpened {
                segment,
                direction,
                first_sample: first,
            },
        );
        self.event(
            at_s + count as f64 / 16_000.0,
            JournalEvent::SegmentClosed {
                segment,
                direction,
                first_sample: first,
                count,
            },
        );
        let path = self.audio(segment, direction);
        write_wav(&path, &ramp(first, count));
    }

    pub(crate) fn audio(&self, segment: u32, direction: AudioDirection) -> PathBuf {
        let name = format!("{segment:06}-{}.wav", direction.name());
        self.path.join("audio").join(name)
    }

    pub(crate) fn journal(&self) -> PathBuf {
        self.path.join("journal.jsonl")
    }

    /// The records as they stand in the file.
    pub(crate) fn lines(&self) -> Vec<Vec<u8>> {
        let line = |record| encode(record).unwrap().to_vec();
        self.records.iter().map(line).collect()
    }

    /// Writes the journal and opens the trip.
    pub(crate) fn open(&self) -> Result<Trip, TripError> {
        fs::write(self.journal(), self.lines().concat()).unwrap();
        Trip::open(&self.path)
    }

    /// Opens the trip with a journal of these bytes.
    pub(crate) fn open_with(&self, journal: &[u8]) -> Result<Trip, TripError> {
        fs::write(self.journal(), journal).unwrap();
        Trip::open(&self.path)
    }

    /// Drops the records that the test says, and numbers the rest again.
    pub(crate) fn without(&mut self, drop: impl Fn(&JournalEvent) -> bool) {
        self.records.retain(|record| !drop(&record.event));
        for (index, record) in self.records.iter_mut().enumerate() {
            record.seq = index as u64 + 1;
        }
    }
}

/// Samples whose values tell where they belong.
pub(crate) fn ramp(first: u64, count: u64) -> Vec<i16> {
    (first..first + count).map(|n| (n % 1000) as i16).collect()
}

pub(crate) fn write_wav(path: &Path, samples: &[i16]) {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 16_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut file = hound::WavWriter::create(path, spec).unwrap();
    for &sample in samples {
        file.write_sample(sample).unwrap();
    }
    file.finalize().unwrap();
}

/// What is wrong with a trip, without the folder's path.
pub(crate) fn damage_of(trip: &Trip) -> Vec<String> {
    let folder = format!("{}/", trip.dir().display());
    let words = |damage: &jumpseat_trip::TripDamage| damage.to_string().replace(&folder, "");
    trip.damage().iter().map(words).collect()
}
