//! The queue between the sound device's callback and the main loop.

use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};

use heapless::spsc::{Consumer, Producer, Queue};

/// Frames in a block: 5 ms at 48 kHz, 15 ms at 16 kHz.
const BLOCK_FRAMES: usize = 240;
/// Blocks in the queue: 2 s at 48 kHz, 6 s at 16 kHz.
const BLOCKS: usize = 401;

/// Some frames and where they belong. Samples are in units of 16-bit steps, so
/// that a 16-bit sample keeps its exact value and a longer one its fraction.
#[derive(Debug, Clone)]
pub struct Block {
    /// Which opening of the device this came from, counted from 1.
    pub stream: u32,
    /// Frames a second.
    pub rate: u32,
    /// Monotonic time at which the last of these frames had arrived.
    pub mono_ns: u64,
    /// Frames that found no room, since the device was opened.
    pub lost: u64,
    /// Overruns that the device reported, since it was opened.
    pub overruns: u32,
    length: u16,
    frames: [[f32; 2]; BLOCK_FRAMES],
}

impl Block {
    /// Receive and transmit channel, in order of time.
    pub fn frames(&self) -> &[[f32; 2]] {
        self.frames.get(..usize::from(self.length)).unwrap_or(&[])
    }
}

/// Makes the one queue of this process, which lives until the process ends.
pub fn queue() -> (InletKit, Consumer<'static, Block>) {
    let queue: &'static mut Queue<Block, BLOCKS> = Box::leak(Box::new(Queue::new()));
    let (producer, consumer) = queue.split();
    let (home, waiting) = channel();
    let kit = InletKit {
        producer: Some(producer),
        home,
        waiting,
        stream: 0,
    };
    (kit, consumer)
}

/// Hands out the queue's producing end, one opening of the device at a time.
pub struct InletKit {
    producer: Option<Producer<'static, Block>>,
    home: Sender<Producer<'static, Block>>,
    waiting: Receiver<Producer<'static, Block>>,
    stream: u32,
}

impl InletKit {
    /// The inlet for a device of this rate; `None` while a device that was
    /// opened before has not let go of the last one.
    pub fn inlet(&mut self, rate: u32) -> Option<Inlet> {
        let producer = self
            .producer
            .take()
            .or_else(|| self.waiting.try_recv().ok())?;
        self.stream = self.stream.wrapping_add(1);
        Some(Inlet {
            producer: Some(producer),
            home: self.home.clone(),
            stream: self.stream,
            rate,
            lost: 0,
            overruns: Arc::new(AtomicU32::new(0)),
        })
    }
}

/// The producing end, for the callback. Pushing neither allocates nor locks.
pub struct Inlet {
    producer: Option<Producer<'static, Block>>,
    home: Sender<Producer<'static, Block>>,
    stream: u32,
    rate: u32,
    lost: u64,
    overruns: Arc<AtomicU32>,
}

impl Inlet {
    /// Where the device's error callback counts its overruns.
    pub fn overruns(&self) -> Arc<AtomicU32> {
        Arc::clone(&self.overruns)
    }

    /// Takes frames, the last of which arrived at `mono_ns`. Frames that find
    /// no room are counted, and the count travels with the next that do.
    pub fn push(&mut self, frames: impl ExactSizeIterator<Item = [f32; 2]>, mono_ns: u64) {
        let mut left = frames.len() as u64;
        let mut frames = frames;
        while left > 0 {
            let length = left.min(BLOCK_FRAMES as u64);
            left -= length;
            let after_ns = left * 1_000_000_000 / u64::from(self.rate.max(1));
            let mut block = Block {
                stream: self.stream,
                rate: self.rate,
                mono_ns: mono_ns.saturating_sub(after_ns),
                lost: self.lost,
                overruns: self.overruns.load(Ordering::Relaxed),
                length: length as u16,
                frames: [[0.0; 2]; BLOCK_FRAMES],
            };
            for (slot, frame) in block
                .frames
                .iter_mut()
                .zip(frames.by_ref().take(length as usize))
            {
                *slot = frame;
            }
            let room = self.producer.as_mut();
            if room.is_none_or(|producer| producer.enqueue(block).is_err()) {
                self.lost += length;
            }
        }
    }
}

impl Drop for Inlet {
    fn drop(&mut self) {
        if let Some(producer) = self.producer.take() {
            // Nobody waits any more only when the process ends.
            let _unneeded = self.home.send(producer);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frames(count: usize) -> impl ExactSizeIterator<Item = [f32; 2]> {
        (0..count).map(|n| [n as f32, -(n as f32)])
    }

    #[test]
    fn frames_come_out_in_order_with_the_time_of_each_block() {
        let (mut kit, mut out) = queue();
        let mut inlet = kit.inlet(48_000).unwrap();
        inlet.push(frames(500), 1_000_000_000);
        let blocks: Vec<Block> = std::iter::from_fn(|| out.dequeue()).collect();
        let lengths: Vec<usize> = blocks.iter().map(|block| block.frames().len()).collect();
        assert_eq!(lengths, [240, 240, 20]);
        assert_eq!(blocks[2].mono_ns, 1_000_000_000);
        assert_eq!(blocks[0].mono_ns, 1_000_000_000 - 260 * 1_000_000 / 48);
        let all: Vec<[f32; 2]> = blocks
            .iter()
            .flat_map(|block| block.frames().to_vec())
            .collect();
        assert!(all.iter().copied().eq(frames(500)));
    }

    #[test]
    fn an_overflow_is_counted_and_told_by_the_next_block() {
        let (mut kit, mut out) = queue();
        let mut inlet = kit.inlet(48_000).unwrap();
        let room = (BLOCKS - 1) * BLOCK_FRAMES;
        inlet.push(frames(room + 1_000), 5);
        while let Some(block) = out.dequeue() {
            assert_eq!(block.lost, 0);
        }
        inlet.push(frames(10), 6);
        assert_eq!(out.dequeue().unwrap().lost, 1_000);
    }

    #[test]
    fn the_queue_serves_one_device_after_the_other() {
        let (mut kit, mut out) = queue();
        let first = kit.inlet(48_000).unwrap();
        assert!(kit.inlet(16_000).is_none(), "the first still has it");
        drop(first);
        kit.inlet(16_000).unwrap().push(frames(1), 7);
        let block = out.dequeue().unwrap();
        assert_eq!((block.stream, block.rate), (2, 16_000));
    }
}
