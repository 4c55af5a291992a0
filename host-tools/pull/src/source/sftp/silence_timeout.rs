//! Ends a server that stays silent for too long while somebody waits for it.

use std::io::{self, Read, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Duration;

/// How often the server is checked.
const TIMEOUT_TICK: Duration = Duration::from_millis(100);
/// A server that sends a byte now and then gets so many times as long for each
/// [`DRIBBLE_BYTES`] bytes.
const DRIBBLE_FACTOR: u32 = 4;
const DRIBBLE_BYTES: u64 = 256;

/// What the reader, the writer and the watching thread share.
#[derive(Debug, Default)]
struct SilenceState {
    /// Somebody is waiting for the server.
    waiting: AtomicBool,
    /// Bytes in both directions.
    passed: AtomicU64,
    patience_ms: AtomicU64,
    over: AtomicBool,
}

impl SilenceState {
    fn patience(&self) -> Duration {
        Duration::from_millis(self.patience_ms.load(Ordering::SeqCst))
    }

    /// Does something that waits for the server.
    fn wait(&self, act: impl FnOnce() -> io::Result<usize>) -> io::Result<usize> {
        self.waiting.store(true, Ordering::SeqCst);
        let done = act();
        self.waiting.store(false, Ordering::SeqCst);
        if let Ok(count) = &done {
            self.passed.fetch_add(*count as u64, Ordering::SeqCst);
        }
        // We ended the server: neither the end nor the error is its own.
        if self.over.load(Ordering::SeqCst) && !matches!(done, Ok(1..)) {
            let seconds = self.patience().as_secs();
            let words = format!("it sent nothing for {seconds} s, so the connection was closed");
            return Err(io::Error::new(io::ErrorKind::TimedOut, words));
        }
        done
    }
}

/// Watches a server until it is dropped.
#[derive(Debug)]
pub(super) struct SilenceTimeout {
    shared: Arc<SilenceState>,
    /// Ends the watching thread when the value is dropped.
    _watched: Sender<()>,
}

impl SilenceTimeout {
    /// `end` ends the server, so that nobody waits any more.
    pub(super) fn new(patience: Duration, end: impl FnOnce() + Send + 'static) -> Self {
        let shared = Arc::new(SilenceState::default());
        let (watched, ended) = channel();
        let for_watch = Arc::clone(&shared);
        let timeout = Self {
            shared,
            _watched: watched,
        };
        timeout.set(patience);
        thread::spawn(move || {
            if watch(&for_watch, &ended) {
                end();
            }
        });
        timeout
    }

    /// Sets how long the server may be silent from now on.
    pub(super) fn set(&self, patience: Duration) {
        let whole = u64::try_from(patience.as_millis()).unwrap_or(u64::MAX);
        self.shared.patience_ms.store(whole, Ordering::SeqCst);
    }

    /// Wraps a stream of the server, so that nobody waits for it for longer than that.
    pub(super) fn with<T>(&self, inner: T) -> TimedStream<T> {
        TimedStream {
            inner,
            shared: Arc::clone(&self.shared),
        }
    }
}

/// Returns true when the server was silent for too long, and false when watching ends.
/// It counts ticks and asks no clock: a computer that was asleep did not wait.
fn watch(shared: &SilenceState, ended: &Receiver<()>) -> bool {
    let (mut silent, mut dribbling) = (Duration::ZERO, Duration::ZERO);
    let (mut last, mut since) = (0, 0);
    loop {
        if !matches!(
            ended.recv_timeout(TIMEOUT_TICK),
            Err(RecvTimeoutError::Timeout)
        ) {
            return false;
        }
        let passed = shared.passed.load(Ordering::SeqCst);
        if passed != last {
            (silent, last) = (Duration::ZERO, passed);
        }
        if passed >= since + DRIBBLE_BYTES {
            (dribbling, since) = (Duration::ZERO, passed);
        }
        if shared.waiting.load(Ordering::SeqCst) {
            silent += TIMEOUT_TICK;
            dribbling += TIMEOUT_TICK;
        }
        let patience = shared.patience();
        if silent > patience || dribbling > patience.saturating_mul(DRIBBLE_FACTOR) {
            shared.over.store(true, Ordering::SeqCst);
            return true;
        }
    }
}

/// A stream of the server with a timeout.
#[derive(Debug)]
pub(super) struct TimedStream<T> {
    inner: T,
    shared: Arc<SilenceState>,
}

impl<T: Read> Read for TimedStream<T> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        self.shared.wait(|| self.inner.read(buffer))
    }
}

impl<T: Write> Write for TimedStream<T> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.shared.wait(|| self.inner.write(bytes))
    }

    fn flush(&mut self) -> io::Result<()> {
        self.inner.flush()
    }
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::{Receiver, channel};
    use std::time::Instant;

    use super::*;

    /// Returns a byte for each that is sent, and ends when its sender is gone.
    struct SlowReader(Receiver<u8>);

    impl Read for SlowReader {
        fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
            Ok(self.0.recv().map_or(0, |byte| {
                buffer[0] = byte;
                1
            }))
        }
    }

    /// Reads `count` bytes from a server that sends so many, each after a pause, and then
    /// nothing. Returns how the reading ended, and whether the server was ended.
    fn read(
        pauses: usize,
        pause: Duration,
        patience: Duration,
        count: usize,
    ) -> (io::Result<()>, bool) {
        let (send, bytes) = channel::<u8>();
        let (end, ended) = channel::<()>();
        let server = thread::spawn(move || {
            for _ in 0..pauses {
                if ended.recv_timeout(pause).is_ok() {
                    return true;
                }
                // Nobody may be reading any more.
                let _ = send.send(b'x');
            }
            let killed = ended.recv_timeout(Duration::from_secs(5)).is_ok();
            drop(send);
            killed
        });
        let watch = SilenceTimeout::new(patience, move || end.send(()).unwrap());
        let mut from = watch.with(SlowReader(bytes));
        let done = from.read_exact(&mut vec![0; count]);
        drop(watch);
        (done, server.join().unwrap())
    }

    #[test]
    fn a_server_that_is_silent_or_dribbles_is_ended_and_a_slow_one_is_not() {
        let ms = Duration::from_millis;
        let begun = Instant::now();
        for (pauses, pause, patience) in [
            (2, ms(50), ms(300)),
            // Never silent for long, and yet no end to it.
            (100, ms(250), ms(500)),
        ] {
            let (done, ended) = read(pauses, pause, patience, 100);
            assert_eq!(done.unwrap_err().kind(), io::ErrorKind::TimedOut);
            assert!(ended && begun.elapsed() < Duration::from_secs(5));
        }
        let (done, ended) = read(4, ms(150), ms(3000), 4);
        assert!(done.is_ok() && !ended);
    }

    #[test]
    fn what_nobody_waits_for_is_not_late() {
        let (send, ended) = channel();
        let watch = SilenceTimeout::new(Duration::from_millis(200), move || send.send(()).unwrap());
        let mut from = watch.with(&b"xyz"[..]);
        from.read_exact(&mut [0; 1]).unwrap();
        assert!(ended.recv_timeout(Duration::from_millis(800)).is_err());
        from.read_exact(&mut [0; 2]).unwrap();
    }
}
