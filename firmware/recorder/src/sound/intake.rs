//! Takes blocks out of the queue and accounts for every frame, including missing ones.

use jumpseat_core::journal::RecorderFault;
use jumpseat_core::{AudioFrame, SAMPLE_RATE};

use super::queue::{BlockStamp, MAX_QUEUED_BLOCKS, QueueConsumer, SampleBlock};
use super::resampler::{SoundResampler, scaled};
use crate::engine::RecordingEngine;
use crate::error::RecorderError;

/// A device that is ahead of the clock by more than this many seconds of samples has run
/// away: it does not sample in real time, and what it delivers is not sound.
const MAX_AHEAD_S: u64 = 2;

/// After an overrun, a gap shorter than this counts as jitter: 5 ms.
const MAX_JITTER_SAMPLES: u64 = 80;

/// The main loop's end of the sound queue.
pub struct SoundIntake {
    queue: QueueConsumer,
    /// Receive and transmit are the same channel of the device.
    same: bool,
    current: Option<IntakeStream>,
    ready: Vec<AudioFrame>,
    /// The stream that ran away; nothing more is taken from it.
    runaway: Option<u32>,
}

struct IntakeStream {
    number: u32,
    /// Monotonic time of the first frame of this piece.
    began_ns: u64,
    resampler: SoundResampler,
    /// Sample count at which this piece without gaps began.
    base: u64,
    lost: u64,
    overruns: u32,
}

impl SoundIntake {
    /// Takes from this queue; `same`: one channel of the device serves for both.
    pub const fn new(queue: QueueConsumer, same: bool) -> Self {
        Self {
            queue,
            same,
            current: None,
            ready: Vec::new(),
            runaway: None,
        }
    }

    /// Passes what had arrived by `until_ns` to the engine: the time up to which the engine
    /// knows the lines. The samples of a key edge that it does not know yet must not be
    /// written before the edge arrives. Returns `true` when the device is to be opened
    /// again because it runs ahead of the clock.
    ///
    /// # Errors
    /// [`RecorderError::Device`] for a rate that cannot be converted.
    pub fn drain(
        &mut self,
        engine: &mut RecordingEngine,
        until_ns: u64,
    ) -> Result<bool, RecorderError> {
        let before = self.runaway;
        // Takes all that waits, which is much after a slow write: anything left would look
        // like a device that went silent. Takes no more than that, so that the main loop
        // gets round to everything else however fast blocks arrive.
        for _ in 0..MAX_QUEUED_BLOCKS {
            let Some(block) = self.queue.pop(until_ns) else {
                break;
            };
            if self.runaway != Some(block.stamp.stream) {
                self.block(&block, engine)?;
            }
        }
        Ok(self.runaway != before)
    }

    /// Drops what had arrived by `until_ns`, while no trip is under way. The next trip
    /// begins with the next sample.
    pub fn discard(&mut self, until_ns: u64) {
        self.current = None;
        while self.queue.pop(until_ns).is_some() {}
    }

    /// Passes what had arrived by `until_ns` to the engine, and what the filter still
    /// holds, at the end of a trip.
    ///
    /// # Errors
    /// [`RecorderError::Device`] if the filter refuses its own sizes.
    pub fn finish(
        &mut self,
        engine: &mut RecordingEngine,
        until_ns: u64,
    ) -> Result<(), RecorderError> {
        self.drain(engine, until_ns)?;
        self.end_piece(engine, until_ns)
    }

    fn block(
        &mut self,
        block: &SampleBlock,
        engine: &mut RecordingEngine,
    ) -> Result<(), RecorderError> {
        let stamp = block.stamp;
        let length_ns = block.frames().len() as u64 * 1_000_000_000 / u64::from(stamp.rate.max(1));
        let began_ns = stamp.mono_ns.saturating_sub(length_ns);
        let known = self
            .current
            .as_ref()
            .map(|stream| (stream.number, stream.lost, stream.overruns));
        match known {
            Some((number, lost, overruns)) if number == stamp.stream => {
                if stamp.lost > lost {
                    let count = scaled(stamp.lost - lost, stamp.rate);
                    let detail = format!("{} frames did not fit into the queue", stamp.lost - lost);
                    engine.fault(RecorderFault::Overflow, &detail, began_ns);
                    self.gap(&stamp, engine, began_ns, SampleGap::Counted(count))?;
                }
                if stamp.overruns != overruns {
                    engine.fault(
                        RecorderFault::Overflow,
                        "the sound device reports an overrun",
                        began_ns,
                    );
                    self.gap(
                        &stamp,
                        engine,
                        began_ns,
                        SampleGap::Timed(RecorderFault::Overflow),
                    )?;
                }
            }
            _ => self.gap(
                &stamp,
                engine,
                began_ns,
                SampleGap::Timed(RecorderFault::Sound),
            )?,
        }
        let Some(stream) = &mut self.current else {
            return Ok(());
        };
        let due_ns = (stream.resampler.due() / u64::from(SAMPLE_RATE)).saturating_sub(MAX_AHEAD_S)
            * 1_000_000_000;
        if due_ns > stamp.mono_ns.saturating_sub(stream.began_ns) {
            self.runaway = Some(stamp.stream);
            let detail =
                "the sound device delivers samples faster than real time: it is opened again";
            engine.fault(RecorderFault::Sound, detail, stamp.mono_ns);
            return Ok(());
        }
        stream.resampler.push(block.frames(), &mut self.ready)?;
        engine.clock(stamp.mono_ns, stream.base + stream.resampler.due());
        engine.audio(&self.ready, stamp.mono_ns);
        self.ready.clear();
        Ok(())
    }

    /// Ends the piece before a gap, reports the gap, begins the piece after it.
    fn gap(
        &mut self,
        stamp: &BlockStamp,
        engine: &mut RecordingEngine,
        began_ns: u64,
        gap: SampleGap,
    ) -> Result<(), RecorderError> {
        let first = self.current.is_none();
        self.end_piece(engine, began_ns)?;
        let (count, fault) = match gap {
            SampleGap::Counted(count) => (count, RecorderFault::Overflow),
            // The number of missing samples follows from the clock.
            SampleGap::Timed(fault) => {
                let expected = engine.expected_at(began_ns).unwrap_or(0);
                (expected.saturating_sub(engine.arrived()), fault)
            }
        };
        if !first && count > MAX_JITTER_SAMPLES {
            engine.gap(count, fault, began_ns);
        }
        self.current = Some(IntakeStream {
            number: stamp.stream,
            began_ns,
            resampler: SoundResampler::new(stamp.rate, self.same)?,
            base: engine.arrived(),
            lost: stamp.lost,
            overruns: stamp.overruns,
        });
        Ok(())
    }

    fn end_piece(
        &mut self,
        engine: &mut RecordingEngine,
        now_ns: u64,
    ) -> Result<(), RecorderError> {
        if let Some(mut stream) = self.current.take() {
            stream.resampler.finish(&mut self.ready)?;
            engine.audio(&self.ready, now_ns);
            self.ready.clear();
        }
        Ok(())
    }
}

enum SampleGap {
    Counted(u64),
    Timed(RecorderFault),
}
