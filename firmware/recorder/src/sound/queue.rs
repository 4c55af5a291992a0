//! The queue between the sound device's callback and the main loop. It holds what arrives
//! while the main loop waits for the card: a worn card may take many seconds for one write
//! (common practice).
//!
//! The samples are in one array that is allocated once; a lock-free queue carries, for
//! every block, its place in the array and its time.

use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};

use heapless::Vec as Few;
use heapless::spsc::{Consumer, Producer, Queue};

/// Receive and transmit channel, 16-bit signed.
pub type SamplePair = [i16; 2];

/// Frames per block: 5 ms at 48 kHz, 15 ms at 16 kHz.
pub(super) const BLOCK_FRAMES: usize = 240;
/// Most blocks that can wait: 20 s at 48 kHz and a minute at 16 kHz, or less if the device
/// delivers too few frames at a time to fill a block.
pub(super) const MAX_QUEUED_BLOCKS: usize = 4_000;
/// Capacity of the queue, of which one slot always stays empty.
const QUEUE_CAPACITY: usize = MAX_QUEUED_BLOCKS + 1;
/// Slots in the array: for every block that waits, for the one being taken out and for the
/// one being put in. With fewer, a block could be overwritten while it is read.
const BLOCK_SLOTS: usize = MAX_QUEUED_BLOCKS + 2;

/// Some frames and when they arrived.
#[derive(Debug, Clone)]
pub struct SampleBlock {
    /// When they arrived, and what was lost before them.
    pub stamp: BlockStamp,
    frames: Few<SamplePair, BLOCK_FRAMES>,
}

impl SampleBlock {
    /// The frames in order of time.
    pub fn frames(&self) -> &[SamplePair] {
        &self.frames
    }
}

/// What describes a block besides its samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BlockStamp {
    /// Which opening of the device this came from, counted from 1.
    pub stream: u32,
    /// Frames per second.
    pub rate: u32,
    /// Monotonic time at which the last of these frames had arrived.
    pub mono_ns: u64,
    /// Frames that did not fit into the queue, since the device was opened.
    pub lost: u64,
    /// Overruns that the device reported, since it was opened.
    pub overruns: u32,
}

#[derive(Debug)]
struct QueuedBlock {
    stamp: BlockStamp,
    place: usize,
    length: usize,
}

/// Creates the two ends of a queue that lives until the process ends.
pub(super) fn split_queue() -> (QueueProducer, QueueConsumer) {
    let queue: &'static mut Queue<QueuedBlock, QUEUE_CAPACITY> = Box::leak(Box::new(Queue::new()));
    let (producer, consumer) = queue.split();
    let samples: Arc<[AtomicU32]> = (0..BLOCK_SLOTS * BLOCK_FRAMES)
        .map(|_| AtomicU32::new(0))
        .collect();
    let producer_end = QueueProducer {
        producer,
        samples: Arc::clone(&samples),
        place: 0,
    };
    let consumer_end = QueueConsumer { consumer, samples };
    (producer_end, consumer_end)
}

/// The callback's end. A push neither allocates nor locks nor waits.
pub(super) struct QueueProducer {
    producer: Producer<'static, QueuedBlock>,
    samples: Arc<[AtomicU32]>,
    /// The slot to be written next.
    place: usize,
}

impl QueueProducer {
    /// Takes up to [`BLOCK_FRAMES`] frames and returns their number; `Err` with it when the
    /// queue is full. The frames are consumed either way.
    pub(super) fn push(
        &mut self,
        stamp: BlockStamp,
        frames: impl Iterator<Item = SamplePair>,
    ) -> Result<usize, usize> {
        let mut length = 0;
        let slots = self.samples.iter().skip(self.place * BLOCK_FRAMES);
        for (slot, frame) in slots.take(BLOCK_FRAMES).zip(frames) {
            // The queue's own ordering makes these visible before the block is.
            slot.store(packed(frame), Ordering::Relaxed);
            length += 1;
        }
        let waiting = QueuedBlock {
            stamp,
            place: self.place,
            length,
        };
        match self.producer.enqueue(waiting) {
            Ok(()) => {
                self.place = (self.place + 1) % BLOCK_SLOTS;
                Ok(length)
            }
            Err(_) => Err(length),
        }
    }
}

/// The main loop's end.
pub struct QueueConsumer {
    consumer: Consumer<'static, QueuedBlock>,
    samples: Arc<[AtomicU32]>,
}

impl QueueConsumer {
    /// The oldest block that waits, if it had arrived by `until_ns`.
    pub fn pop(&mut self, until_ns: u64) -> Option<SampleBlock> {
        if self.consumer.peek()?.stamp.mono_ns > until_ns {
            return None;
        }
        let QueuedBlock {
            stamp,
            place,
            length,
        } = self.consumer.dequeue()?;
        let slots = self.samples.iter().skip(place * BLOCK_FRAMES).take(length);
        let frames = slots.map(|slot| unpacked(slot.load(Ordering::Relaxed)));
        Some(SampleBlock {
            stamp,
            frames: frames.take(BLOCK_FRAMES).collect(),
        })
    }

    /// Drops everything that waits.
    pub fn clear(&mut self) {
        while self.consumer.dequeue().is_some() {}
    }
}

fn packed([rx, tx]: SamplePair) -> u32 {
    let [a, b] = rx.to_le_bytes();
    let [c, d] = tx.to_le_bytes();
    u32::from_le_bytes([a, b, c, d])
}

fn unpacked(pair: u32) -> SamplePair {
    let [a, b, c, d] = pair.to_le_bytes();
    [i16::from_le_bytes([a, b]), i16::from_le_bytes([c, d])]
}

#[cfg(test)]
mod tests {
    use std::thread;

    use super::*;

    fn stamp(mono_ns: u64) -> BlockStamp {
        BlockStamp {
            stream: 1,
            rate: 48_000,
            mono_ns,
            lost: 0,
            overruns: 0,
        }
    }

    /// Frames that differ within a block and from block to block.
    fn frames(block: u64) -> impl Iterator<Item = SamplePair> {
        (0..BLOCK_FRAMES as u64).map(move |n| [(block * 7 + n) as i16, !(block as i16)])
    }

    #[test]
    fn every_pair_of_samples_comes_out_as_it_went_in() {
        for rx in (i16::MIN..=i16::MAX).step_by(97) {
            for tx in [i16::MIN, -1, 0, 1, i16::MAX] {
                assert_eq!(unpacked(packed([rx, tx])), [rx, tx]);
            }
        }
    }

    #[test]
    fn a_full_queue_refuses_and_keeps_all_that_it_took() {
        let (mut producer, mut consumer) = split_queue();
        // Goes round the array more than once, so that its end is passed while it is full.
        for turn in 0..3 {
            let first = turn * MAX_QUEUED_BLOCKS as u64;
            for block in first..first + MAX_QUEUED_BLOCKS as u64 {
                assert_eq!(producer.push(stamp(block), frames(block)), Ok(BLOCK_FRAMES));
            }
            assert_eq!(producer.push(stamp(0), frames(9)), Err(BLOCK_FRAMES));
            for block in first..first + MAX_QUEUED_BLOCKS as u64 {
                let out = consumer.pop(u64::MAX).unwrap();
                assert_eq!(out.stamp.mono_ns, block);
                assert!(out.frames().iter().copied().eq(frames(block)), "{block}");
            }
            assert!(consumer.pop(u64::MAX).is_none());
        }
    }

    #[test]
    fn no_block_is_written_over_while_another_thread_takes_blocks_out() {
        const BLOCKS: u64 = 60_000;
        let (mut producer, mut consumer) = split_queue();
        let callback = thread::spawn(move || {
            let mut block = 0;
            while block < BLOCKS {
                block += u64::from(producer.push(stamp(block), frames(block)).is_ok());
            }
        });
        let mut expected = 0;
        while expected < BLOCKS {
            let Some(out) = consumer.pop(u64::MAX) else {
                thread::yield_now();
                continue;
            };
            assert_eq!(out.stamp.mono_ns, expected);
            assert!(out.frames().iter().copied().eq(frames(expected)));
            expected += 1;
        }
        callback.join().unwrap();
    }
}
