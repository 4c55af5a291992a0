//! gpsd, reading the pseudo-terminal.

use std::net::TcpStream;
use std::path::Path;
use std::process::Command;
use std::time::Duration;

use super::PseudoTerminal;
use jumpseat_test_kit::{PartError, TestProcess, free_port, wait_until};

/// The daemon.
#[derive(Debug)]
pub struct GpsdDaemon {
    address: String,
    _daemon: TestProcess,
}

impl GpsdDaemon {
    /// Starts it on a free port.
    pub fn start(folder: &Path, serial: &PseudoTerminal) -> Result<Self, PartError> {
        Self::start_at(free_port()?, folder, serial)
    }

    /// Starts it on this port.
    pub fn start_at(port: u16, folder: &Path, serial: &PseudoTerminal) -> Result<Self, PartError> {
        let address = format!("127.0.0.1:{port}");
        let mut command = Command::new("gpsd");
        // In the foreground, at once, without writing to the receiver.
        command
            .args(["-N", "-n", "-b", "-S", &port.to_string()])
            .arg(serial.device());
        let mut daemon = TestProcess::start(&command, &folder.join("gpsd.log"))?;
        if !wait_until(Duration::from_secs(10), || {
            TcpStream::connect(&address).is_ok()
        }) {
            return Err(PartError::failed("gpsd", "did not come up"));
        }
        // Another program may have taken the port in the meantime.
        if !daemon.runs() {
            return Err(PartError::failed("gpsd", "ended at once"));
        }
        Ok(Self {
            address,
            _daemon: daemon,
        })
    }

    /// Where it listens.
    pub fn address(&self) -> &str {
        &self.address
    }
}
