//! Takes blocks out of the queue and accounts for every frame, also for those
//! that are missing.

use jumpseat_core::journal::RecorderFault;
use jumpseat_core::{AudioFrame, SAMPLE_RATE};

use super::queue::{BlockStamp, MAX_QUEUED_BLOCKS, QueueConsumer, SampleBlock};
use super::resampler::{SoundResampler, scaled};
use crate::engine::RecordingEngine;
use crate::error::RecorderError;

/// So many seconds more samples than time has passed are too many: the device
/// does not wait for its samples to be taken, and what it brings is no sound.
const AHEAD_S: u64 = 2;

/// After an overrun, less than this is not taken for a hole but for jitter: 5 ms.
const JITTER_SAMPLES: u64 = 80;

/// The main loop's end of the sound queue.
pub struct SoundIntake {
    queue: QueueConsumer,
    /// Both channels are the same one of the device.
    same: bool,
    current: Option<IntakeStream>,
    ready: Vec<AudioFrame>,
    /// The stream that ran away: nothing more is taken from it.
    runaway: Option<u32>,
}

struct IntakeStream {
    number: u32,
    /// Monotonic time of the first frame of this piece.
    began_ns: u64,
    resampler: SoundResampler,
    /// Sample count at which this piece without holes began.
    base: u64,
    lost: u64,
    overruns: u32,
}

impl SoundIntake {
    /// Takes from this queue; `same` says that one channel does for both.
    pub const fn new(queue: QueueConsumer, same: bool) -> Self {
        Self {
            queue,
            same,
            current: None,
            ready: Vec::new(),
            runaway: None,
        }
    }

    /// Hands what had come by `until_ns` to the engine: the time up to which the engine
    /// knows the lines. A key edge that it does not know yet must not find its samples
    /// already written. `true` when the device is to be opened again because it brings
    /// more samples than time.
    ///
    /// # Errors
    /// [`RecorderError::Device`] for a rate that cannot be converted.
    pub fn drain(
        &mut self,
        engine: &mut RecordingEngine,
        until_ns: u64,
    ) -> Result<bool, RecorderError> {
        let before = self.runaway;
        // All that waits, which after a slow write is much: what is left here would look
        // like a device that went silent. And no more than that, so that the main loop
        // comes round to everything else however fast blocks come.
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

    /// Lets what had come by `until_ns` go, while no trip is under way. The next trip
    /// begins with the next sample.
    pub fn discard(&mut self, until_ns: u64) {
        self.current = None;
        while self.queue.pop(until_ns).is_some() {}
    }

    /// Hands what had come by `until_ns` to the engine, and what the filter still holds,
    /// at the end.
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
                    let detail = format!("{} frames found no room in the queue", stamp.lost - lost);
                    engine.fault(RecorderFault::Overflow, &detail, began_ns);
                    self.hole(&stamp, engine, began_ns, SampleHole::Counted(count))?;
                }
                if stamp.overruns != overruns {
                    engine.fault(
                        RecorderFault::Overflow,
                        "the sound device reports an overrun",
                        began_ns,
                    );
                    self.hole(
                        &stamp,
                        engine,
                        began_ns,
                        SampleHole::Timed(RecorderFault::Overflow),
                    )?;
                }
            }
            _ => self.hole(
                &stamp,
                engine,
                began_ns,
                SampleHole::Timed(RecorderFault::Sound),
            )?,
        }
        let Some(stream) = &mut self.current else {
            return Ok(());
        };
        let due_ns = (stream.resampler.due() / u64::from(SAMPLE_RATE)).saturating_sub(AHEAD_S)
            * 1_000_000_000;
        if due_ns > stamp.mono_ns.saturating_sub(stream.began_ns) {
            self.runaway = Some(stamp.stream);
            let detail = "the sound device brings more samples than time: it is opened again";
            engine.fault(RecorderFault::Sound, detail, stamp.mono_ns);
            return Ok(());
        }
        stream.resampler.push(block.frames(), &mut self.ready)?;
        engine.clock(stamp.mono_ns, stream.base + stream.resampler.due());
        engine.audio(&self.ready, stamp.mono_ns);
        self.ready.clear();
        Ok(())
    }

    /// Ends the piece before a hole, tells the hole, begins the piece after it.
    fn hole(
        &mut self,
        stamp: &BlockStamp,
        engine: &mut RecordingEngine,
        began_ns: u64,
        hole: SampleHole,
    ) -> Result<(), RecorderError> {
        let first = self.current.is_none();
        self.end_piece(engine, began_ns)?;
        let (count, fault) = match hole {
            SampleHole::Counted(count) => (count, RecorderFault::Overflow),
            // How many are missing, only the clock knows.
            SampleHole::Timed(fault) => {
                let expected = engine.expected_at(began_ns).unwrap_or(0);
                (expected.saturating_sub(engine.arrived()), fault)
            }
        };
        if !first && count > JITTER_SAMPLES {
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

enum SampleHole {
    Counted(u64),
    Timed(RecorderFault),
}

#[cfg(test)]
mod tests;
