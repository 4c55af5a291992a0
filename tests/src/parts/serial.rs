//! A pseudo-terminal in place of a receiver's serial port.

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use jumpseat_test_kit::PartError;
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};

/// The receiver's end of the line.
#[derive(Debug)]
pub struct PseudoTerminal {
    device: PathBuf,
    receiver: fs::File,
    /// Held open so that the line does not hang up when a reader closes it.
    _port: fs::File,
}

impl PseudoTerminal {
    /// Opens a pair.
    pub fn open() -> Result<Self, PartError> {
        let name = Path::new("/dev/ptmx");
        let failed = |error: rustix::io::Errno| PartError::file(name)(error.into());
        let receiver = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC)
            .map_err(failed)?;
        grantpt(&receiver).map_err(failed)?;
        unlockpt(&receiver).map_err(failed)?;
        let device = ptsname(&receiver, Vec::new()).map_err(failed)?;
        let device = PathBuf::from(device.to_string_lossy().into_owned());
        let port = fs::OpenOptions::new()
            .read(true)
            .write(true)
            .open(&device)
            .map_err(PartError::file(&device))?;
        let mut settings = tcgetattr(&port).map_err(failed)?;
        settings.make_raw();
        tcsetattr(&port, OptionalActions::Now, &settings).map_err(failed)?;
        Ok(Self {
            device,
            receiver: receiver.into(),
            _port: port,
        })
    }

    /// The port that a program opens.
    pub fn device(&self) -> &Path {
        &self.device
    }

    /// Sends a sentence and its line end.
    pub fn send(&mut self, sentence: &str) -> Result<(), PartError> {
        let line = format!("{sentence}\r\n");
        self.receiver
            .write_all(line.as_bytes())
            .map_err(PartError::file(&self.device))
    }
}
