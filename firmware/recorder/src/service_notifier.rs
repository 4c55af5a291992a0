//! Notifies the service manager and feeds its watchdog: `sd_notify`, one datagram of text
//! each (reference: the man page sd_notify(3)).

use std::env;
use std::io;
use std::os::linux::net::SocketAddrExt;
use std::os::unix::net::{SocketAddr, UnixDatagram};

/// Factor by which the watchdog waits longer for a sound device that is known to be
/// missing, because a restart does not bring it back.
const MISSING_DEVICE_FACTOR: u64 = 20;

/// A connection to the service manager, if there is one.
#[derive(Debug)]
pub struct ServiceNotifier {
    socket: Option<UnixDatagram>,
    /// Watchdog time in microseconds.
    watchdog_us: Option<u64>,
    next_ns: u64,
    is_missing: bool,
    status: String,
}

impl ServiceNotifier {
    /// Connects to the service manager that started this process, if it wants
    /// notifications.
    ///
    /// # Errors
    /// The system's reason, when `NOTIFY_SOCKET` names a socket that cannot be used.
    pub fn from_environment() -> io::Result<Self> {
        let socket = match env::var("NOTIFY_SOCKET") {
            Ok(name) if !name.is_empty() => Some(connect(&name)?),
            _ => None,
        };
        let watchdog_us = env::var("WATCHDOG_USEC").ok();
        Ok(Self {
            socket,
            watchdog_us: watchdog_us.and_then(|text| text.parse().ok()),
            next_ns: 0,
            is_missing: false,
            status: String::new(),
        })
    }

    /// Reports that the trip is open.
    pub fn ready(&self) {
        self.notify("READY=1");
    }

    /// Reports that the recorder is stopping.
    pub fn stopping(&self) {
        self.notify("STOPPING=1");
    }

    /// Sets the text in the service's status, when it changes.
    pub fn status(&mut self, text: &str) {
        if self.status != text {
            text.clone_into(&mut self.status);
            self.notify(&format!("STATUS={text}"));
        }
    }

    /// Feeds the watchdog, four times as often as required, while `alive`: samples arrive
    /// and reach the card. `missing`: the sound device is known to be missing, and is being
    /// tried again.
    pub fn feed_watchdog(&mut self, alive: bool, missing: bool, now_ns: u64) {
        let Some(watchdog_us) = self.watchdog_us else {
            return;
        };
        if missing != self.is_missing {
            self.is_missing = missing;
            let wait_us = watchdog_us * if missing { MISSING_DEVICE_FACTOR } else { 1 };
            self.notify(&format!("WATCHDOG_USEC={wait_us}"));
        }
        if alive && now_ns >= self.next_ns {
            self.next_ns = now_ns + watchdog_us.saturating_mul(1_000) / 4;
            self.notify("WATCHDOG=1");
        }
    }

    fn notify(&self, text: &str) {
        if let Some(socket) = &self.socket {
            // If it does not receive this, its watchdog restarts the recorder.
            let _unheard = socket.send(text.as_bytes());
        }
    }
}

fn connect(name: &str) -> io::Result<UnixDatagram> {
    let address = match name.strip_prefix('@') {
        Some(name) => SocketAddr::from_abstract_name(name)?,
        None => SocketAddr::from_pathname(name)?,
    };
    let socket = UnixDatagram::unbound()?;
    socket.connect_addr(&address)?;
    socket.set_nonblocking(true)?;
    Ok(socket)
}
