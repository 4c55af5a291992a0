//! Reads the dial from the rig-control daemon `rigctld`, with its extended replies.

use std::io::{self, BufRead, BufReader, Write};
use std::net::TcpStream;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Duration;

use jumpseat_core::journal::{RecorderFault, ShortText, clip};

use crate::backoff::RetryBackoff;
use crate::config::DialConfig;
use crate::device_message::{DeviceMessage, DeviceReporter};
use crate::error::RecorderError;
use crate::monotonic;
use crate::rig_reading::RigReading;
use crate::tcp;
use crate::threads;

/// Some radios answer slowly over a serial line; an unknown command gets no reply at all.
const READ_TIMEOUT: Duration = Duration::from_secs(3);

/// After a key edge the dial is read at once, and again after this time: some radios report
/// their other frequency only when their relay has dropped out.
const REREAD_AFTER_KEY: Duration = Duration::from_millis(250);

/// The main loop's handle to the thread.
pub struct DialHandle {
    requests: Sender<()>,
}

impl DialHandle {
    /// Requests a reading now, whatever the interval.
    pub fn read_now(&self) {
        // Without rig control there is no reader.
        let _no_reader = self.requests.send(());
    }
}

/// Starts the thread that reads the dial, if rig control is configured.
///
/// # Errors
/// [`RecorderError::Device`] when the system starts no thread.
pub fn start(
    config: &DialConfig,
    arrivals: &Sender<DeviceMessage>,
) -> Result<DialHandle, RecorderError> {
    let (requests, inbox) = channel();
    let dial = DialHandle { requests };
    let Some(address) = config.rigctld.clone() else {
        return Ok(dial);
    };
    let every = Duration::from_secs_f64(config.every_s);
    let mut reporter = DeviceReporter::new(RecorderFault::Dial, arrivals.clone());
    let run = move || {
        let mut backoff = RetryBackoff::new();
        loop {
            let error = follow(&address, every, &inbox, &mut reporter, &mut backoff);
            reporter.report_failure(&format!(
                "rig control at {address}: {error}; check that rigctld runs and the radio is on"
            ));
            thread::sleep(backoff.wait());
        }
    };
    threads::spawn("dial", run)?;
    Ok(dial)
}

fn follow(
    address: &str,
    every: Duration,
    requests: &Receiver<()>,
    reporter: &mut DeviceReporter,
    backoff: &mut RetryBackoff,
) -> io::Error {
    let mut rig = match RigctldClient::connect(address) {
        Ok(rig) => rig,
        Err(error) => return error,
    };
    let mut settling = false;
    loop {
        match rig.read() {
            Ok(setting) => {
                backoff.reset();
                reporter.report_working(&format!("rig control at {address} answers"));
                let at_ns = monotonic::now_ns();
                reporter.send(DeviceMessage::Dial { setting, at_ns });
            }
            Err(error) => return error,
        }
        let wait = if settling {
            REREAD_AFTER_KEY.min(every)
        } else {
            every
        };
        settling = match requests.recv_timeout(wait) {
            Ok(()) => {
                while requests.try_recv().is_ok() {}
                true
            }
            Err(RecvTimeoutError::Timeout) => false,
            Err(RecvTimeoutError::Disconnected) => {
                thread::sleep(wait);
                false
            }
        };
    }
}

/// A connection to rigctld.
pub struct RigctldClient {
    lines: BufReader<TcpStream>,
}

impl RigctldClient {
    /// Connects to rigctld at `address` ("127.0.0.1:4532").
    ///
    /// # Errors
    /// The system's reason.
    pub fn connect(address: &str) -> io::Result<Self> {
        let stream = tcp::connect(address, READ_TIMEOUT)?;
        Ok(Self {
            lines: BufReader::new(stream),
        })
    }

    /// Reads frequency and mode. The mode is empty for a radio that does not report it.
    ///
    /// # Errors
    /// When the daemon does not answer in time, or the radio does not report its
    /// frequency.
    pub fn read(&mut self) -> io::Result<RigReading> {
        let frequency = self.ask("+\\get_freq\n")?;
        let hz = field(&frequency, "Frequency").and_then(|text| text.parse::<f64>().ok());
        let hz = hz.filter(|hz| (1.0..1e12).contains(hz)).ok_or_else(|| {
            io::Error::other(format!(
                "the radio does not report its frequency ({frequency:?})"
            ))
        })?;
        let mode = self.ask("+\\get_mode\n")?;
        let mode: ShortText = clip(field(&mode, "Mode").unwrap_or(""));
        Ok(RigReading {
            hz: hz.round() as u64,
            mode,
        })
    }

    fn ask(&mut self, command: &str) -> io::Result<Vec<String>> {
        self.lines.get_mut().write_all(command.as_bytes())?;
        read_reply(&mut self.lines)
    }
}

/// The lines of an extended reply, up to its closing `RPRT`.
fn read_reply(lines: &mut impl BufRead) -> io::Result<Vec<String>> {
    let mut reply = Vec::new();
    loop {
        let line = tcp::read_line(lines)?;
        if line.starts_with("RPRT") {
            return Ok(reply);
        }
        if reply.len() > 32 {
            return Err(io::Error::other("the answer is not from rigctld"));
        }
        reply.push(line);
    }
}

fn field<'a>(reply: &'a [String], name: &str) -> Option<&'a str> {
    reply
        .iter()
        .find_map(|line| line.strip_prefix(name)?.strip_prefix(':'))
        .map(str::trim)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn extended_replies_are_read_by_their_names() {
        let mut text = "get_freq:\nFrequency: 145000000\nRPRT 0\nget_mode:\nMode: FM\nPassband: 15000\nRPRT 0\n".as_bytes();
        let reply = read_reply(&mut text).unwrap();
        assert_eq!(field(&reply, "Frequency"), Some("145000000"));
        let reply = read_reply(&mut text).unwrap();
        assert_eq!(
            (field(&reply, "Mode"), field(&reply, "Passband")),
            (Some("FM"), Some("15000"))
        );
        assert_eq!(field(&reply, "Frequency"), None);
        let ended = read_reply(&mut text).unwrap_err();
        assert_eq!(ended.kind(), io::ErrorKind::UnexpectedEof);
    }

    #[test]
    fn a_flood_is_not_taken_for_an_answer() {
        let mut text = "x\n".repeat(100);
        text.push_str("RPRT 0\n");
        assert!(read_reply(&mut text.as_bytes()).is_err());
    }
}
