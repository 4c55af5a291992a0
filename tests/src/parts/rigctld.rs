//! The rig-control daemon with its dummy radio.

use std::io::{BufRead as _, BufReader, Write as _};
use std::net::TcpStream;
use std::path::Path;
use std::process::Command;
use std::time::Duration;

use jumpseat_simulator::scenario::ScriptedDial;
use jumpseat_test_kit::{PartError, TestProcess, free_port, wait_until};

/// The daemon, and a connection that sets the dial.
#[derive(Debug)]
pub struct RigctldDaemon {
    address: String,
    connection: BufReader<TcpStream>,
    _daemon: TestProcess,
}

impl RigctldDaemon {
    /// Starts it on a free port.
    pub fn start(folder: &Path) -> Result<Self, PartError> {
        Self::start_at(free_port()?, folder)
    }

    /// Starts it on this port.
    pub fn start_at(port: u16, folder: &Path) -> Result<Self, PartError> {
        let address = format!("127.0.0.1:{port}");
        let mut command = Command::new("rigctld");
        command.args(["-m", "1", "-T", "127.0.0.1", "-t", &port.to_string()]);
        let mut daemon = TestProcess::start(&command, &folder.join("rigctld.log"))?;
        let mut connected = None;
        wait_until(Duration::from_secs(10), || {
            connected = TcpStream::connect(&address).ok();
            connected.is_some()
        });
        let stream = connected.ok_or_else(|| PartError::failed("rigctld", "did not come up"))?;
        // Another program may have taken the port in the meantime.
        if !daemon.runs() {
            return Err(PartError::failed("rigctld", "ended at once"));
        }
        let place = Path::new(&address);
        stream
            .set_read_timeout(Some(Duration::from_secs(3)))
            .map_err(PartError::file(place))?;
        Ok(Self {
            connection: BufReader::new(stream),
            address,
            _daemon: daemon,
        })
    }

    /// Where it listens.
    pub fn address(&self) -> &str {
        &self.address
    }

    /// Sets the dial.
    pub fn turn(&mut self, dial: &ScriptedDial) -> Result<(), PartError> {
        // A pass band of 0 means the mode's default.
        self.command(&format!("M {} 0", dial.mode))?;
        self.command(&format!("F {}", dial.hz))
    }

    fn command(&mut self, line: &str) -> Result<(), PartError> {
        let place = Path::new(&self.address);
        let text = format!("{line}\n");
        self.connection
            .get_mut()
            .write_all(text.as_bytes())
            .map_err(PartError::file(place))?;
        let mut reply = String::new();
        self.connection
            .read_line(&mut reply)
            .map_err(PartError::file(place))?;
        if reply.trim() == "RPRT 0" {
            Ok(())
        } else {
            Err(PartError::failed(
                "rigctld",
                format!("answered {reply:?} to {line:?}"),
            ))
        }
    }
}
