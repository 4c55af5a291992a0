//! A stage for a live drive: real parts, and the board that is connected to them.

use std::path::Path;
use std::process::Command;

use clap::ValueEnum;

use crate::board::Board;
use crate::parts::{Feed, Gpsd, PartError, Pulse, Rigctld, Serial, SoundFifo};
use crate::player::{Outputs, SoundOutput};
use jumpseat_simulator::scenario::Station;

/// How sound comes in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SoundWay {
    /// An audio server at 48 kHz, as a sound card would be.
    Pulse,
    /// ALSA's file plugin on a pipe at 16 kHz: every bit arrives as it was.
    Fifo,
}

/// How the receiver's sentences come in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum GpsWay {
    /// A serial port (a pseudo-terminal).
    Serial,
    /// The satellite daemon, on that port.
    Gpsd,
}

/// The parts and where they are.
#[derive(Debug)]
pub struct Stage {
    /// To be played into.
    pub outputs: Outputs,
    /// Connected to them.
    pub board: Board,
    _gpsd: Option<Gpsd>,
}

impl Stage {
    /// Starts the parts and connects a board to them, all in `folder`.
    pub fn set(
        folder: &Path,
        sound: SoundWay,
        gps: GpsWay,
        station: &Station,
    ) -> Result<Self, PartError> {
        let board = Board::at(folder, &folder.join("card"))?
            .with(&format!(
                "station = {{ call = \"{}\", operator = \"{}\" }}",
                station.call, station.operator
            ))
            .with_feed();
        let serial = Serial::open()?;
        let radio = Rigctld::start(folder)?;
        let feed = Feed::make(&board.path("lines"))?;
        let gpsd = match gps {
            GpsWay::Serial => None,
            GpsWay::Gpsd => Some(Gpsd::start(folder, &serial)?),
        };
        let (output, board) = match sound {
            SoundWay::Pulse => {
                // The server's ALSA plugin wakes its reader at every fragment; with
                // a period longer than one, the reader asks again and again
                // until the period is full, and that takes a quarter of a core.
                let pulse = Pulse::start(&folder.join("pulse"), 48_000)?;
                let board = board.with(&format!(
                    "sound = {{ device = \"{}\", rate = 48000, channels = 2, rx = 0, tx = 1, period_frames = 240 }}",
                    pulse.device()
                ));
                (SoundOutput::Pulse(pulse), board)
            }
            SoundWay::Fifo => {
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
        let outputs = Outputs {
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
    pub fn inside(&self, command: &mut Command) {
        match &self.outputs.sound {
            Some(SoundOutput::Pulse(pulse)) => pulse.inside(command),
            Some(SoundOutput::Fifo(fifo)) => fifo.inside(command),
            None => {}
        }
    }
}
