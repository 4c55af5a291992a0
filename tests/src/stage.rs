//! A stage for a live drive: real parts, and the board that is connected to them.

use std::path::Path;
use std::process::Command;

use clap::ValueEnum;

use crate::board::TestBoard;
use crate::parts::{GpsdDaemon, LineFeed, PseudoTerminal, PulseServer, RigctldDaemon, SoundFifo};
use crate::player::{PlayerOutputs, SoundOutput};
use jumpseat_simulator::scenario::OperatorStation;
use jumpseat_test_kit::PartError;

/// How sound comes in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SoundConnection {
    /// An audio server at 48 kHz, as a sound card would be.
    Pulse,
    /// ALSA's file plugin on a pipe at 16 kHz: every bit arrives as it was.
    Fifo,
}

/// How the receiver's sentences come in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum GpsConnection {
    /// A serial port (a pseudo-terminal).
    Serial,
    /// The satellite daemon, on that port.
    Gpsd,
}

/// The parts and where they are.
#[derive(Debug)]
pub struct LiveStage {
    /// To be played into.
    pub outputs: PlayerOutputs,
    /// Connected to them.
    pub board: TestBoard,
    _gpsd: Option<GpsdDaemon>,
}

impl LiveStage {
    /// Starts the parts and connects a board to them, all in `folder`.
    pub fn set(
        folder: &Path,
        sound: SoundConnection,
        gps: GpsConnection,
        station: &OperatorStation,
    ) -> Result<Self, PartError> {
        let board = TestBoard::at(folder, &folder.join("card"))?
            .with(&format!(
                "station = {{ call = \"{}\", operator = \"{}\" }}",
                station.call, station.operator
            ))
            .with_feed();
        let serial = PseudoTerminal::open()?;
        let radio = RigctldDaemon::start(folder)?;
        let feed = LineFeed::make(&board.path("lines"))?;
        let gpsd = match gps {
            GpsConnection::Serial => None,
            GpsConnection::Gpsd => Some(GpsdDaemon::start(folder, &serial)?),
        };
        let (output, board) = match sound {
            SoundConnection::Pulse => {
                // The server's ALSA plugin wakes its reader at every fragment; with
                // a period longer than one, the reader asks again and again
                // until the period is full, and that takes a quarter of a core.
                let pulse = PulseServer::start(&folder.join("pulse"), 48_000)?;
                let board = board.with(&format!(
                    "sound = {{ device = \"{}\", rate = 48000, channels = 2, rx = 0, tx = 1, period_frames = 240 }}",
                    pulse.device()
                ));
                (SoundOutput::Pulse(pulse), board)
            }
            SoundConnection::Fifo => {
                let fifo = SoundFifo::make(&folder.join("alsa"))?;
                let board = board.with_sound(&fifo);
                (SoundOutput::Fifo(fifo), board)
            }
        };
        let gps_line = match &gpsd {
            None => format!("serial = {{ device = \"{}\" }}", serial.device().display()),
            Some(gpsd) => format!("gpsd = \"{}\"", gpsd.address()),
        };
        let board = board
            .with(&format!("gps = {{ {gps_line} }}"))
            .with(&format!("dial = {{ rigctld = \"{}\" }}", radio.address()));
        let outputs = PlayerOutputs {
            sound: Some(output),
            feed: Some(feed),
            serial: Some(serial),
            radio: Some(radio),
        };
        Ok(Self {
            outputs,
            board,
            _gpsd: gpsd,
        })
    }

    /// ALSA's name of the stage's sound.
    pub fn device(&self) -> &'static str {
        match &self.outputs.sound {
            Some(SoundOutput::Pulse(pulse)) => pulse.device(),
            Some(SoundOutput::Fifo(fifo)) => fifo.device(),
            None => "null",
        }
    }

    /// Lets a program find the stage's sound.
    pub fn connect_sound(&self, command: &mut Command) {
        match &self.outputs.sound {
            Some(SoundOutput::Pulse(pulse)) => pulse.inside(command),
            Some(SoundOutput::Fifo(fifo)) => fifo.inside(command),
            None => {}
        }
    }
}
