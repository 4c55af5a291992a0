//! Limits how many connections there are, and for how long. A connection that has not sent
//! the cookie yet is a stranger, and is ended before any other: a browser sends the cookie
//! with its first request.

use std::io;
use std::pin::Pin;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::TcpStream;
use tokio::sync::Notify;
use tokio::time::Instant;

/// Connections at the same time. A browser opens six, and a system lets a program have a
/// thousand files open.
const MAX_CONNECTIONS: usize = 256;
/// Connections of browsers with access: five browsers. Each may hold some minutes of
/// sound that are not read.
const MAX_KNOWN_CONNECTIONS: usize = 32;
/// How long a stranger may take to send its first request.
const STRANGER_TIMEOUT: Duration = Duration::from_secs(5);
/// A connection with access is ended when no byte moves for this long.
pub(super) const IDLE_TIMEOUT: Duration = Duration::from_secs(60);

/// All connections.
#[derive(Debug, Default)]
pub(super) struct ReviewConnections(Mutex<Vec<Arc<ReviewConnection>>>);

/// One of them.
#[derive(Debug)]
pub(super) struct ReviewConnection {
    since: Instant,
    state: Mutex<ConnectionState>,
    shed: Notify,
}

#[derive(Debug)]
struct ConnectionState {
    /// The cookie was shown.
    known: bool,
    /// A reply is being made.
    working: bool,
    /// When a byte came or went last.
    moved: Instant,
}

impl ReviewConnections {
    /// Admits a connection. If there are too many, ends the least important one.
    pub(super) fn admit(self: &Arc<Self>) -> ConnectionSlot {
        let now = Instant::now();
        let state = ConnectionState {
            known: false,
            working: false,
            moved: now,
        };
        let connection = Arc::new(ReviewConnection {
            since: now,
            state: Mutex::new(state),
            shed: Notify::new(),
        });
        let mut all = self.all();
        while all.len() >= MAX_CONNECTIONS && end_least_missed(&mut all, |_| true) {}
        all.push(Arc::clone(&connection));
        drop(all);
        ConnectionSlot {
            all: Arc::clone(self),
            connection,
        }
    }

    /// Ends the least important connection when the system accepts no more.
    pub(super) fn make_room(&self) {
        end_least_missed(&mut self.all(), |_| true);
    }

    /// How many there are.
    #[cfg(test)]
    fn count(&self) -> usize {
        self.all().len()
    }

    fn all(&self) -> MutexGuard<'_, Vec<Arc<ReviewConnection>>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Ends the least important of these connections: strangers first, the oldest of them; then
/// the one that has been idle longest. False if there is none.
fn end_least_missed(
    all: &mut Vec<Arc<ReviewConnection>>,
    which: impl Fn(&ReviewConnection) -> bool,
) -> bool {
    let value = |connection: &ReviewConnection| {
        let state = connection.state();
        let last = if state.known {
            state.moved
        } else {
            connection.since
        };
        (state.known, last)
    };
    let those = all.iter().enumerate().filter(|(_, one)| which(one));
    let Some((at, _)) = those.min_by_key(|(_, one)| value(one)) else {
        return false;
    };
    all.swap_remove(at).shed.notify_one();
    true
}

/// A connection's place among all; free again when it is dropped.
#[derive(Debug)]
pub(super) struct ConnectionSlot {
    all: Arc<ReviewConnections>,
    connection: Arc<ReviewConnection>,
}

impl ConnectionSlot {
    /// The cookie was shown on it.
    pub(super) fn mark_known(&self) {
        let mut all = self.all.all();
        self.connection.state().known = true;
        let known = all.iter().filter(|one| one.state().known).count();
        if known > MAX_KNOWN_CONNECTIONS {
            let other = |one: &ReviewConnection| {
                one.state().known && !std::ptr::eq(one, Arc::as_ptr(&self.connection))
            };
            end_least_missed(&mut all, other);
        }
    }

    /// A reply to it is being made, or is ready.
    pub(super) fn set_working(&self, working: bool) {
        let mut state = self.connection.state();
        state.working = working;
        state.moved = Instant::now();
    }

    /// Waits until its time is up, or until it is ended for another one.
    pub(super) async fn ended(&self) {
        loop {
            let end = self.connection.end();
            tokio::select! {
                () = self.connection.shed.notified() => return,
                () = tokio::time::sleep_until(end) => {}
            }
            if self.connection.end() <= Instant::now() {
                return;
            }
        }
    }

    /// The stream, watched for whether anything moves on it.
    pub(super) fn watch(&self, stream: TcpStream) -> WatchedStream {
        let connection = Arc::clone(&self.connection);
        WatchedStream { stream, connection }
    }
}

impl Drop for ConnectionSlot {
    fn drop(&mut self) {
        let mut all = self.all.all();
        all.retain(|one| !Arc::ptr_eq(one, &self.connection));
    }
}

impl ReviewConnection {
    fn state(&self) -> MutexGuard<'_, ConnectionState> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// When its time is up, as far as is known now.
    fn end(&self) -> Instant {
        let state = self.state();
        if state.working {
            Instant::now() + IDLE_TIMEOUT
        } else if state.known {
            state.moved + IDLE_TIMEOUT
        } else {
            self.since + STRANGER_TIMEOUT
        }
    }
}

/// A stream that notes on its connection when a byte comes or goes.
#[derive(Debug)]
pub(super) struct WatchedStream {
    stream: TcpStream,
    connection: Arc<ReviewConnection>,
}

impl WatchedStream {
    fn moved(&self, bytes: usize) {
        if bytes > 0 {
            self.connection.state().moved = Instant::now();
        }
    }

    fn note_written(&self, done: Poll<io::Result<usize>>) -> Poll<io::Result<usize>> {
        if let Poll::Ready(Ok(bytes)) = &done {
            self.moved(*bytes);
        }
        done
    }
}

impl AsyncRead for WatchedStream {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let before = buffer.filled().len();
        let done = Pin::new(&mut self.stream).poll_read(context, buffer);
        self.moved(buffer.filled().len() - before);
        done
    }
}

impl AsyncWrite for WatchedStream {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        let done = Pin::new(&mut self.stream).poll_write(context, bytes);
        self.note_written(done)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let done = Pin::new(&mut self.stream).poll_write_vectored(context, bytes);
        self.note_written(done)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whether its time is over at once.
    async fn is_over(place: &ConnectionSlot) -> bool {
        let soon = Duration::from_millis(20);
        tokio::time::timeout(soon, place.ended()).await.is_ok()
    }

    fn run(test: impl Future<Output = ()>) {
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_time()
            .build();
        runtime.unwrap().block_on(test);
    }

    #[test]
    fn the_oldest_stranger_goes_before_anybody_who_was_let_in() {
        run(async {
            let all = Arc::new(ReviewConnections::default());
            let guest = all.admit();
            guest.mark_known();
            let mut strangers: Vec<ConnectionSlot> =
                (1..MAX_CONNECTIONS).map(|_| all.admit()).collect();
            assert_eq!(all.count(), MAX_CONNECTIONS);
            assert!(!is_over(&guest).await && !is_over(&strangers[0]).await);
            strangers.push(all.admit());
            assert_eq!(all.count(), MAX_CONNECTIONS);
            assert!(is_over(&strangers[0]).await);
            assert!(!is_over(&guest).await && !is_over(&strangers[1]).await);
            strangers.clear();
            assert_eq!(all.count(), 1);
        });
    }

    #[test]
    fn of_those_who_were_let_in_the_stillest_goes() {
        run(async {
            let all = Arc::new(ReviewConnections::default());
            let places: Vec<ConnectionSlot> =
                (0..=MAX_KNOWN_CONNECTIONS).map(|_| all.admit()).collect();
            for place in &places[..MAX_KNOWN_CONNECTIONS] {
                place.mark_known();
            }
            // The first moves once more, so that the second is the stillest.
            places[0].set_working(false);
            places[MAX_KNOWN_CONNECTIONS].mark_known();
            assert!(is_over(&places[1]).await);
            for index in [0, 2, MAX_KNOWN_CONNECTIONS] {
                assert!(!is_over(&places[index]).await, "{index}");
            }
        });
    }

    #[test]
    fn a_stranger_has_little_time_and_work_has_all_it_needs() {
        let now = Instant::now();
        let place = Arc::new(ReviewConnections::default()).admit();
        let left = |place: &ConnectionSlot| place.connection.end().saturating_duration_since(now);
        let about = |left: Duration, wanted: Duration| {
            assert!(
                left >= wanted && left < wanted + Duration::from_secs(1),
                "{left:?}"
            );
        };
        about(left(&place), STRANGER_TIMEOUT);
        place.set_working(true);
        about(left(&place), IDLE_TIMEOUT);
        place.set_working(false);
        about(left(&place), STRANGER_TIMEOUT);
        place.mark_known();
        about(left(&place), IDLE_TIMEOUT);
    }
}
