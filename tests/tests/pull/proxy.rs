//! A link that can be cut, can fall silent, and can be long.

use std::io::{Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicU8, AtomicU64, Ordering};
use std::sync::mpsc::channel;
use std::thread;
use std::time::{Duration, Instant};

/// What becomes of the link after so many bytes from the server.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Fate {
    Whole,
    Cut(u64),
    Silent(u64),
    /// After so many bytes nothing comes until the link is set free or cut.
    Slow(u64),
}

/// What a held link is waiting for.
const HELD: u8 = 0;
const FREE: u8 = 1;
const CUT: u8 = 2;

/// One link; every connection through it has the same fate.
pub(crate) struct Link {
    pub(crate) port: u16,
    passed: Arc<AtomicU64>,
    state: Arc<AtomicU8>,
}

impl Link {
    /// To a port of this computer; each way takes `delay`.
    pub(crate) fn to(server: u16, fate: Fate, delay: Duration) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let passed = Arc::new(AtomicU64::new(0));
        let count = Arc::clone(&passed);
        let state = Arc::new(AtomicU8::new(HELD));
        let told = Arc::clone(&state);
        thread::spawn(move || {
            for client in listener.incoming() {
                let client = client.unwrap();
                let server = TcpStream::connect(("127.0.0.1", server)).unwrap();
                let back = (server.try_clone().unwrap(), client.try_clone().unwrap());
                let (count, told) = (Arc::clone(&count), Arc::clone(&told));
                thread::spawn(move || {
                    let (count, free) = (AtomicU64::new(0), AtomicU8::new(FREE));
                    carry(client, server, Fate::Whole, delay, &count, &free)
                });
                thread::spawn(move || carry(back.0, back.1, fate, delay, &count, &told));
            }
        });
        Self {
            port,
            passed,
            state,
        }
    }

    /// Lets a slow link go on.
    pub(crate) fn free(&self) {
        self.state.store(FREE, Ordering::SeqCst);
    }

    /// Ends a slow link.
    pub(crate) fn cut(&self) {
        self.state.store(CUT, Ordering::SeqCst);
    }

    /// Bytes from the server so far.
    pub(crate) fn passed(&self) -> u64 {
        self.passed.load(Ordering::SeqCst)
    }
}

/// Carries bytes one way until either side ends or fate strikes.
fn carry(
    mut from: TcpStream,
    to: TcpStream,
    fate: Fate,
    delay: Duration,
    count: &AtomicU64,
    state: &AtomicU8,
) {
    from.set_nodelay(true).unwrap();
    to.set_nodelay(true).unwrap();
    let (send, due) = channel::<(Instant, Vec<u8>)>();
    let mut target = to.try_clone().unwrap();
    let writer = thread::spawn(move || {
        for (at, bytes) in due {
            thread::sleep(at.saturating_duration_since(Instant::now()));
            if target.write_all(&bytes).is_err() {
                break;
            }
        }
    });
    let left = match fate {
        Fate::Whole => u64::MAX,
        Fate::Cut(after) | Fate::Silent(after) | Fate::Slow(after) => after,
    };
    let mut left = left;
    let mut buffer = vec![0; 1 << 16];
    while left > 0 {
        let most = left.min(buffer.len() as u64) as usize;
        let Ok(bytes @ 1..) = from.read(&mut buffer[..most]) else {
            break;
        };
        left -= bytes as u64;
        if left == 0 && matches!(fate, Fate::Slow(_)) {
            count.fetch_add(bytes as u64, Ordering::SeqCst);
            while state.load(Ordering::SeqCst) == HELD {
                thread::sleep(Duration::from_millis(10));
            }
            if state.load(Ordering::SeqCst) == CUT {
                break;
            }
            left = u64::MAX;
            count.fetch_sub(bytes as u64, Ordering::SeqCst);
        }
        count.fetch_add(bytes as u64, Ordering::SeqCst);
        if send
            .send((Instant::now() + delay, buffer[..bytes].to_vec()))
            .is_err()
        {
            break;
        }
    }
    drop(send);
    writer.join().unwrap();
    if left == 0 && matches!(fate, Fate::Silent(_)) {
        // Nothing comes any more, and nobody says so.
        thread::sleep(Duration::from_secs(60));
    }
    // Either may be gone already.
    let _ = from.shutdown(Shutdown::Both);
    let _ = to.shutdown(Shutdown::Both);
}
