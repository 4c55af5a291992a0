//! Listens to a receiver on a serial port or a pseudo-terminal.

use std::io::ErrorKind;
use std::time::Duration;

use serialport::SerialPort;

use super::listen_outcome::ListenOutcome;
use super::sentence::SentenceReader;
use crate::config::SerialConfig;
use crate::device_message::{DeviceMessage, DeviceReporter};
use crate::error::RecorderError;
use crate::monotonic;

/// A receiver that is silent this long counts as missing: 5 s.
const RECEIVER_SILENT_AFTER_NS: u64 = 5_000_000_000;
const READ_TIMEOUT: Duration = Duration::from_millis(1_000);
/// Longer than any sentence; the rest of a longer line is dropped.
const MAX_SENTENCE_BYTES: usize = 256;

/// Listens until the port fails.
pub(super) fn listen(config: &SerialConfig, reporter: &mut DeviceReporter) -> ListenOutcome {
    let mut heard = false;
    let error = match open(config) {
        Ok(mut port) => read(port.as_mut(), config, reporter, &mut heard),
        Err(error) => error,
    };
    ListenOutcome { heard, error }
}

pub(crate) fn open(config: &SerialConfig) -> Result<Box<dyn SerialPort>, RecorderError> {
    let name = config.device.to_string_lossy();
    serialport::new(name.as_ref(), config.baud)
        .timeout(READ_TIMEOUT)
        .open()
        .map_err(|error| RecorderError::Device(format!("serial port {name}: {error}; {}", ports())))
}

fn ports() -> String {
    let names: Vec<String> = std::fs::read_dir("/dev")
        .into_iter()
        .flatten()
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .filter(|name| name.starts_with("ttyACM") || name.starts_with("ttyUSB"))
        .map(|name| format!("/dev/{name}"))
        .collect();
    if names.is_empty() {
        "no receiver found in /dev: check its cable, then set gps.serial".to_owned()
    } else {
        format!("set gps.serial to one of {}", names.join(", "))
    }
}

fn read(
    port: &mut dyn SerialPort,
    config: &SerialConfig,
    reporter: &mut DeviceReporter,
    heard: &mut bool,
) -> RecorderError {
    let mut sentences = SentenceReader::new();
    let mut splitter = SentenceSplitter::default();
    let mut buffer = [0_u8; 512];
    let mut last_ns = monotonic::now_ns();
    loop {
        let count = match port.read(&mut buffer) {
            Ok(0) => return receiver_lost(config, "it was closed"),
            Ok(count) => count,
            Err(error) if matches!(error.kind(), ErrorKind::TimedOut | ErrorKind::Interrupted) => 0,
            Err(error) => return receiver_lost(config, &error.to_string()),
        };
        let now_ns = monotonic::now_ns();
        for &byte in buffer.iter().take(count) {
            let Some((sentence, at_ns)) = splitter.byte(byte, now_ns) else {
                continue;
            };
            if let Some(events) = sentences.read(&sentence) {
                last_ns = now_ns;
                *heard = true;
                reporter.report_working(&format!(
                    "the receiver on {} sends sentences",
                    config.device.display()
                ));
                if !events.is_empty() {
                    reporter.send(DeviceMessage::Gps { events, at_ns });
                }
            }
        }
        if now_ns.saturating_sub(last_ns) > RECEIVER_SILENT_AFTER_NS {
            reporter.report_failure(&format!(
                "no sentence from {} for 5 s; check gps.serial and its baud rate",
                config.device.display()
            ));
        }
    }
}

fn receiver_lost(config: &SerialConfig, why: &str) -> RecorderError {
    RecorderError::Device(format!(
        "the receiver on {} is lost: {why}; check its cable",
        config.device.display()
    ))
}

/// Splits bytes into sentences, each with the time at which its '$' arrived.
#[derive(Debug, Default)]
struct SentenceSplitter {
    text: Vec<u8>,
    began_ns: u64,
}

impl SentenceSplitter {
    fn byte(&mut self, byte: u8, now_ns: u64) -> Option<(String, u64)> {
        if byte == b'$' {
            self.text.clear();
            self.began_ns = now_ns;
        }
        if byte != b'\n' {
            if self.text.len() < MAX_SENTENCE_BYTES {
                self.text.push(byte);
            }
            return None;
        }
        let sentence = String::from_utf8_lossy(&self.text).trim().to_owned();
        self.text.clear();
        sentence
            .starts_with('$')
            .then_some((sentence, self.began_ns))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sentence_has_the_time_of_its_dollar_sign() {
        let mut splitter = SentenceSplitter::default();
        let mut told = Vec::new();
        for (&byte, now) in b"25,A*00\r\n$GPA*11\r\n$G\xff$GPB*22\n".iter().zip(0..) {
            told.extend(splitter.byte(byte, now));
        }
        let expected = [("$GPA*11".to_owned(), 9), ("$GPB*22".to_owned(), 21)];
        assert_eq!(told, expected);
    }
}
