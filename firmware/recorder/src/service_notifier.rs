//! Talks to the service manager: `sd_notify` and its watchdog, a datagram of text
//! each (the man page sd_notify(3) is the reference).

use std::env;
use std::io;
use std::os::linux::net::SocketAddrExt;
use std::os::unix::net::{SocketAddr, UnixDatagram};

/// A device that is known to be missing is not mended by starting again: so many
/// times longer is it waited for.
const PATIENCE: u64 = 20;

/// The service manager, or nobody.
#[derive(Debug)]
pub struct ServiceNotifier {
    socket: Option<UnixDatagram>,
    /// How long it waits for a sign of life, in microseconds.
    watchdog_us: Option<u64>,
    next_ns: u64,
    patient: bool,
    status: String,
}

impl ServiceNotifier {
    /// The one that started this process, if it wants to hear.
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
            patient: false,
            status: String::new(),
        })
    }

    /// The trip is open.
    pub fn ready(&self) {
        self.say("READY=1");
    }

    /// It ends in order.
    pub fn stopping(&self) {
        self.say("STOPPING=1");
    }

    /// What a person reads in the service's status; told when it changes.
    pub fn status(&mut self, text: &str) {
        if self.status != text {
            text.clone_into(&mut self.status);
            self.say(&format!("STATUS={text}"));
        }
    }

    /// Feeds the watchdog, four times as often as it asks, while `alive`: samples
    /// come and reach the card. `missing` says that the sound device is known not
    /// to be there, and is being tried again.
    pub fn feed_watchdog(&mut self, alive: bool, missing: bool, now_ns: u64) {
        let Some(watchdog_us) = self.watchdog_us else {
            return;
        };
        if missing != self.patient {
            self.patient = missing;
            let wait_us = watchdog_us * if missing { PATIENCE } else { 1 };
            self.say(&format!("WATCHDOG_USEC={wait_us}"));
        }
        if alive && now_ns >= self.next_ns {
            self.next_ns = now_ns + watchdog_us.saturating_mul(1_000) / 4;
            self.say("WATCHDOG=1");
        }
    }

    fn say(&self, text: &str) {
        if let Some(socket) = &self.socket {
            // If it does not listen, its watchdog does what is right.
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
