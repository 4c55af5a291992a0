//! Writes the audio files of a trip, one after the other.
//!
//! A file that could not be written or synced is abandoned. Its samples that were not
//! synced yet are still in memory: they go into another file, at once or as soon as the
//! card accepts one. What does not fit into memory becomes a gap.

use std::collections::VecDeque;
use std::path::PathBuf;

use jumpseat_core::journal::{AudioDirection, JournalEvent, RecorderFault};
use jumpseat_core::segmenter::KeyedSegment;

use crate::error::RecorderError;
use crate::segment_file::{SegmentFile, SegmentIdentity};
use crate::storage::CardStorage;

/// Samples kept in memory while the card accepts nothing: 30 s.
const MAX_WAITING_SAMPLES: usize = 30 * jumpseat_core::SAMPLE_RATE as usize;

/// Which overs are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum SavingMode {
    /// All of them.
    #[default]
    Off,
    /// Transmitted ones: the card is full except for a reserve.
    TransmitOnly,
    /// None: the reserve is nearly used up too.
    JournalOnly,
}

impl SavingMode {
    fn keeps(self, direction: AudioDirection) -> bool {
        match self {
            Self::Off => true,
            Self::TransmitOnly => direction == AudioDirection::Tx,
            Self::JournalOnly => false,
        }
    }
}

/// An event and the sample count that it is about.
pub(crate) type SampleEvent = (u64, JournalEvent);

/// Samples that no file holds safely.
struct UnsavedRun {
    direction: AudioDirection,
    first_sample: u64,
    samples: Vec<i16>,
    /// More samples may follow.
    growing: bool,
}

/// Samples that are lost: the first, and how many.
#[derive(Debug, Clone, Copy)]
struct DroppedSamples {
    first_sample: u64,
    count: u64,
    fault: RecorderFault,
}

/// The audio files of one trip. Each call adds to the records that are due.
pub(crate) struct AudioFiles {
    dir: PathBuf,
    open: Option<SegmentFile>,
    waiting: VecDeque<UnsavedRun>,
    lost: Option<DroppedSamples>,
    last_number: u32,
    pub(crate) saving_mode: SavingMode,
    notes: Vec<SampleEvent>,
}

impl AudioFiles {
    pub(crate) fn new(dir: PathBuf) -> Self {
        Self {
            dir,
            open: None,
            waiting: VecDeque::new(),
            lost: None,
            last_number: 0,
            saving_mode: SavingMode::Off,
            notes: Vec::new(),
        }
    }

    /// The records that became due since the last call.
    pub(crate) fn take_notes(&mut self) -> Vec<SampleEvent> {
        std::mem::take(&mut self.notes)
    }

    /// Audio is kept in memory because no file accepts it.
    pub(crate) fn is_failing(&self) -> bool {
        !self.waiting.is_empty()
    }

    /// A file is open for audio.
    pub(crate) const fn is_open(&self) -> bool {
        self.open.is_some()
    }

    /// Begins a segment.
    pub(crate) fn begin(
        &mut self,
        storage: &mut dyn CardStorage,
        segment: KeyedSegment,
    ) -> Result<(), RecorderError> {
        let KeyedSegment {
            direction,
            first_sample,
            ..
        } = segment;
        if !self.saving_mode.keeps(direction) {
            self.add_lost(first_sample, 0, RecorderFault::CardFull);
            return Ok(());
        }
        self.record_lost();
        let run = UnsavedRun {
            direction,
            first_sample,
            samples: Vec::new(),
            growing: true,
        };
        if !self.waiting.is_empty() {
            // Earlier runs are written first.
            self.waiting.push_back(run);
            return Ok(());
        }
        let place = self.next_place(direction, first_sample);
        match SegmentFile::create(storage, &self.dir, place) {
            Ok(file) => {
                self.opened(place);
                self.open = Some(file);
                Ok(())
            }
            Err(error) => {
                self.waiting.push_back(run);
                Err(error)
            }
        }
    }

    /// Takes the next samples of the segment.
    pub(crate) fn write(
        &mut self,
        storage: &mut dyn CardStorage,
        samples: &[i16],
    ) -> Result<(), RecorderError> {
        if let Some(file) = &mut self.open {
            let written = file.write(samples);
            return written.or_else(|error| self.move_to_next_file(storage, error));
        }
        if let Some(run) = self.waiting.back_mut().filter(|run| run.growing) {
            run.samples.extend_from_slice(samples);
            self.keep_within_bounds();
        } else if let Some(lost) = &mut self.lost {
            lost.count += samples.len() as u64;
        }
        Ok(())
    }

    /// Completes the segment.
    pub(crate) fn close(&mut self, storage: &mut dyn CardStorage) -> Result<(), RecorderError> {
        let synced = self.sync(storage);
        if let Some(file) = self.open.take() {
            self.closed(&file);
        }
        if let Some(run) = self.waiting.back_mut() {
            run.growing = false;
        }
        synced
    }

    /// Syncs all audio.
    pub(crate) fn sync(&mut self, storage: &mut dyn CardStorage) -> Result<(), RecorderError> {
        match self.open.as_mut().map(SegmentFile::sync) {
            Some(Err(error)) => self.move_to_next_file(storage, error),
            _ => Ok(()),
        }
    }

    /// Tries again to write what waits in memory.
    pub(crate) fn catch_up(&mut self, storage: &mut dyn CardStorage) -> Result<(), RecorderError> {
        while let Some(run) = self.waiting.pop_front() {
            if let Err(error) = self.write_run(storage, &run) {
                self.waiting.push_front(run);
                return Err(error);
            }
        }
        Ok(())
    }

    /// Records what was lost last, at the end of a trip.
    pub(crate) fn finish(&mut self) {
        let waiting: Vec<UnsavedRun> = self.waiting.drain(..).collect();
        for run in waiting {
            self.add_lost(
                run.first_sample,
                run.samples.len() as u64,
                RecorderFault::Storage,
            );
        }
        self.record_lost();
    }

    /// Abandons a file that failed, and moves its unsynced samples to another.
    fn move_to_next_file(
        &mut self,
        storage: &mut dyn CardStorage,
        error: RecorderError,
    ) -> Result<(), RecorderError> {
        let Some(file) = self.open.take() else {
            return Err(error);
        };
        let place = file.identity();
        let safe = file.safe();
        self.abandoned(place, safe);
        self.waiting.push_back(UnsavedRun {
            direction: place.direction,
            first_sample: place.first_sample + safe,
            samples: file.into_newest(),
            growing: true,
        });
        self.keep_within_bounds();
        // If this fails as well, the first error is the one to report.
        let _later = self.catch_up(storage);
        Err(error)
    }

    fn write_run(
        &mut self,
        storage: &mut dyn CardStorage,
        run: &UnsavedRun,
    ) -> Result<(), RecorderError> {
        if run.samples.is_empty() && !run.growing {
            return Ok(());
        }
        let place = self.next_place(run.direction, run.first_sample);
        let mut file = SegmentFile::create(storage, &self.dir, place)?;
        if let Err(error) = file.write(&run.samples).and_then(|()| file.sync()) {
            // It holds nothing that is not in memory too.
            if storage.remove(file.path()).is_err() {
                self.abandoned(place, 0);
            }
            return Err(error);
        }
        self.record_lost();
        self.opened(place);
        if run.growing {
            self.open = Some(file);
        } else {
            self.closed(&file);
        }
        Ok(())
    }

    /// Each number is used once, whatever becomes of its file.
    const fn next_place(
        &mut self,
        direction: AudioDirection,
        first_sample: u64,
    ) -> SegmentIdentity {
        self.last_number = self.last_number.saturating_add(1);
        SegmentIdentity {
            number: self.last_number,
            direction,
            first_sample,
        }
    }

    /// Drops the oldest samples when memory is full.
    fn keep_within_bounds(&mut self) {
        let kept: usize = self.waiting.iter().map(|run| run.samples.len()).sum();
        let mut over = kept.saturating_sub(MAX_WAITING_SAMPLES);
        while over > 0 {
            let Some(run) = self.waiting.front_mut() else {
                return;
            };
            let count = over.min(run.samples.len());
            run.samples.drain(..count);
            let first_sample = run.first_sample;
            run.first_sample += count as u64;
            over -= count;
            if run.samples.is_empty() && !run.growing {
                self.waiting.pop_front();
            }
            self.add_lost(first_sample, count as u64, RecorderFault::Storage);
        }
    }

    /// Adds to the samples that are lost.
    fn add_lost(&mut self, first_sample: u64, count: u64, fault: RecorderFault) {
        match &mut self.lost {
            Some(lost) if lost.first_sample + lost.count == first_sample && lost.fault == fault => {
                lost.count += count;
            }
            _ => {
                self.record_lost();
                self.lost = Some(DroppedSamples {
                    first_sample,
                    count,
                    fault,
                });
            }
        }
    }

    fn record_lost(&mut self) {
        let Some(lost) = self.lost.take().filter(|lost| lost.count > 0) else {
            return;
        };
        let DroppedSamples {
            first_sample,
            count,
            fault,
        } = lost;
        let gap = JournalEvent::Gap {
            first_sample,
            count,
            fault,
        };
        self.notes.push((first_sample, gap));
    }

    fn opened(&mut self, place: SegmentIdentity) {
        let SegmentIdentity {
            number,
            direction,
            first_sample,
        } = place;
        let opened = JournalEvent::SegmentOpened {
            segment: number,
            direction,
            first_sample,
        };
        self.notes.push((first_sample, opened));
    }

    fn closed(&mut self, file: &SegmentFile) {
        let SegmentIdentity {
            number,
            direction,
            first_sample,
        } = file.identity();
        let count = file.safe();
        let closed = JournalEvent::SegmentClosed {
            segment: number,
            direction,
            first_sample,
            count,
        };
        self.notes.push((first_sample + count, closed));
        if let Some(sha256) = file.sum() {
            let sum = JournalEvent::SegmentSum {
                segment: number,
                sha256,
            };
            self.notes.push((first_sample + count, sum));
        }
    }

    fn abandoned(&mut self, place: SegmentIdentity, safe: u64) {
        let SegmentIdentity {
            number,
            direction,
            first_sample,
        } = place;
        let abandoned = JournalEvent::SegmentAbandoned {
            segment: number,
            direction,
            first_sample,
            count: safe,
        };
        self.notes.push((first_sample + safe, abandoned));
    }
}
