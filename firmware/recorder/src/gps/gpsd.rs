//! Listens to gpsd over TCP.

use std::io::{BufReader, Write};
use std::time::Duration;

use super::listen_outcome::ListenOutcome;
use super::report::ReportReader;
use crate::device_message::{DeviceMessage, DeviceReporter};
use crate::error::RecorderError;
use crate::monotonic;
use crate::tcp;

const WATCH_COMMAND: &[u8] = b"?WATCH={\"enable\":true,\"json\":true};\n";
/// gpsd reports every second unless the receiver is silent.
const READ_TIMEOUT: Duration = Duration::from_secs(10);

/// Listens until the connection fails.
pub(super) fn listen(address: &str, reporter: &mut DeviceReporter) -> ListenOutcome {
    let mut heard = false;
    let error = converse(address, reporter, &mut heard);
    ListenOutcome {
        heard,
        error: RecorderError::Device(format!(
            "gpsd at {address}: {error}; check that gpsd runs and knows its receiver"
        )),
    }
}

fn converse(address: &str, reporter: &mut DeviceReporter, heard: &mut bool) -> std::io::Error {
    let mut stream = match tcp::connect(address, READ_TIMEOUT) {
        Ok(stream) => stream,
        Err(error) => return error,
    };
    if let Err(error) = stream.write_all(WATCH_COMMAND) {
        return error;
    }
    let mut lines = BufReader::new(stream);
    let mut reports = ReportReader::new();
    loop {
        let line = match tcp::read_line(&mut lines) {
            Ok(line) => line,
            Err(error) => return error,
        };
        let at_ns = monotonic::now_ns();
        let Some(events) = reports.read(&line) else {
            continue;
        };
        if !events.is_empty() {
            *heard = true;
            reporter.report_working(&format!("gpsd at {address} reports time and position"));
            reporter.send(DeviceMessage::Gps { events, at_ns });
        }
    }
}
