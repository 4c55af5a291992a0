//! The producing end of the sound queue, for one opening of the device at a time.

use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};

use super::queue::{
    BLOCK_FRAMES, BlockStamp, QueueConsumer, QueueProducer, SamplePair, split_queue,
};

/// Creates the queue of this process, which lives until the process ends.
pub fn sound_queue() -> (InletFactory, QueueConsumer) {
    let (producer, consumer) = split_queue();
    let (returns, returned) = channel();
    let factory = InletFactory {
        producer: Some(producer),
        returns,
        returned,
        stream: 0,
    };
    (factory, consumer)
}

/// Hands out the queue's producing end to one opening of the device at a time.
pub struct InletFactory {
    producer: Option<QueueProducer>,
    returns: Sender<QueueProducer>,
    returned: Receiver<QueueProducer>,
    stream: u32,
}

impl InletFactory {
    /// The inlet for a device of this rate; `None` while a device that was opened earlier
    /// still holds the last one.
    pub fn inlet(&mut self, rate: u32) -> Option<SoundInlet> {
        let producer = self
            .producer
            .take()
            .or_else(|| self.returned.try_recv().ok())?;
        self.stream = self.stream.wrapping_add(1);
        Some(SoundInlet {
            producer: Some(producer),
            returns: self.returns.clone(),
            stream: self.stream,
            rate,
            lost: 0,
            overruns: Arc::new(AtomicU32::new(0)),
        })
    }
}

/// The producing end, for the callback. A push neither allocates nor locks.
pub struct SoundInlet {
    producer: Option<QueueProducer>,
    returns: Sender<QueueProducer>,
    stream: u32,
    rate: u32,
    lost: u64,
    overruns: Arc<AtomicU32>,
}

impl SoundInlet {
    /// The counter for the device's error callback to count overruns in.
    pub fn overruns(&self) -> Arc<AtomicU32> {
        Arc::clone(&self.overruns)
    }

    /// Takes frames, the last of which arrived at `mono_ns`. Frames that do not fit are
    /// counted, and the count travels with the next ones that do.
    pub fn push(&mut self, frames: impl ExactSizeIterator<Item = SamplePair>, mono_ns: u64) {
        let mut left = frames.len() as u64;
        let mut frames = frames;
        while left > 0 {
            let length = left.min(BLOCK_FRAMES as u64);
            left -= length;
            let after_ns = left * 1_000_000_000 / u64::from(self.rate.max(1));
            let stamp = BlockStamp {
                stream: self.stream,
                rate: self.rate,
                mono_ns: mono_ns.saturating_sub(after_ns),
                lost: self.lost,
                overruns: self.overruns.load(Ordering::Relaxed),
            };
            let block = frames.by_ref().take(length as usize);
            let producer = self.producer.as_mut();
            if producer.is_none_or(|producer| producer.push(stamp, block).is_err()) {
                self.lost += length;
            }
        }
    }
}

impl Drop for SoundInlet {
    fn drop(&mut self) {
        if let Some(producer) = self.producer.take() {
            // The factory is gone only when the process ends.
            let _ending = self.returns.send(producer);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::queue::{MAX_QUEUED_BLOCKS, SampleBlock};
    use super::*;

    fn frames(count: usize) -> impl ExactSizeIterator<Item = SamplePair> {
        (0..count).map(|n| [n as i16, !(n as i16)])
    }

    #[test]
    fn frames_come_out_in_order_with_the_time_of_each_block() {
        let (mut factory, mut out) = sound_queue();
        let mut inlet = factory.inlet(48_000).unwrap();
        inlet.push(frames(500), 1_000_000_000);
        let blocks: Vec<SampleBlock> = std::iter::from_fn(|| out.pop(u64::MAX)).collect();
        let lengths: Vec<usize> = blocks.iter().map(|block| block.frames().len()).collect();
        assert_eq!(lengths, [240, 240, 20]);
        assert_eq!(blocks[2].stamp.mono_ns, 1_000_000_000);
        assert_eq!(
            blocks[0].stamp.mono_ns,
            1_000_000_000 - 260 * 1_000_000 / 48
        );
        let all: Vec<SamplePair> = blocks
            .iter()
            .flat_map(|block| block.frames().to_vec())
            .collect();
        assert!(all.iter().copied().eq(frames(500)));
    }

    #[test]
    fn an_overflow_is_counted_and_told_by_the_next_block() {
        let (mut factory, mut out) = sound_queue();
        let mut inlet = factory.inlet(48_000).unwrap();
        let capacity = MAX_QUEUED_BLOCKS * BLOCK_FRAMES;
        inlet.push(frames(capacity + 1_000), 5);
        while let Some(block) = out.pop(u64::MAX) {
            assert_eq!(block.stamp.lost, 0);
        }
        inlet.push(frames(10), 6);
        assert_eq!(out.pop(u64::MAX).unwrap().stamp.lost, 1_000);
    }

    #[test]
    fn the_queue_serves_one_device_after_the_other() {
        let (mut factory, mut out) = sound_queue();
        let first = factory.inlet(48_000).unwrap();
        assert!(factory.inlet(16_000).is_none(), "the first still has it");
        drop(first);
        factory.inlet(16_000).unwrap().push(frames(1), 7);
        let stamp = out.pop(u64::MAX).unwrap().stamp;
        assert_eq!((stamp.stream, stamp.rate), (2, 16_000));
    }
}
