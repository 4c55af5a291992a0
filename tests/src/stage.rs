//! A stage for a live drive: real parts, and the config that leads a recorder to them.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use clap::ValueEnum;

use crate::parts::{Feed, Gpsd, PartError, Pulse, Rigctld, Serial, SoundFifo};
use crate::player::{Outputs, SoundOutput};
use crate::scenario::Station;

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
    /// The recorder's config file.
    pub config: PathBuf,
    /// Where its trips go.
    pub card: PathBuf,
    _gpsd: Option<Gpsd>,
}

impl Stage {
    /// Starts the parts and writes the config, all in `folder`.
    pub fn set(
        folder: &Path,
        sound: SoundWay,
        gps: GpsWay,
        station: &Station,
    ) -> Result<Self, PartError> {
        let card = folder.join("card");
        fs::create_dir_all(&card).map_err(PartError::file(&card))?;
        let serial = Serial::open()?;
        let radio = Rigctld::start(folder)?;
        let feed = Feed::make(&folder.join("lines.fifo"))?;
        let gpsd = match gps {
            GpsWay::Serial => None,
            GpsWay::Gpsd => Some(Gpsd::start(folder, &serial)?),
        };
        let (output, sound_lines) = match sound {
            SoundWay::Pulse => {
                // The server's ALSA plugin wakes its reader at every fragment; with
                // a period longer than one, the reader asks again and again
                // until the period is full, and that takes a quarter of a core.
                let pulse = Pulse::start(&folder.join("pulse"), 48_000)?;
                let lines = format!(
                    "device = \"{}\"\nrate = 48000\nchannels = 2\nperiod_frames = 240\n",
                    pulse.device()
                );
                (SoundOutput::Pulse(pulse), lines)
            }
            SoundWay::Fifo => {
                let fifo = SoundFifo::make(&folder.join("alsa"))?;
                let (device, period) = (fifo.device(), fifo.period());
                let lines = format!(
                    "device = \"{device}\"\nrate = 16000\nchannels = 2\nperiod_frames = {period}\n"
                );
                (SoundOutput::Fifo(fifo), lines)
            }
        };
        let gps_line = match &gpsd {
            None => format!("serial = {{ device = \"{}\" }}", serial.device().display()),
            Some(gpsd) => format!("gpsd = \"{}\"", gpsd.address()),
        };
        let text = format!(
            "[station]\ncall = \"{}\"\noperator = \"{}\"\n\n\
             [card]\ndir = \"{}\"\nboard = \"3fa2c1\"\n\n\
             [sound]\n{sound_lines}rx = 0\ntx = 1\n\n\
             [lines]\nfeed = {{ fifo = \"{}\" }}\n\n\
             [gps]\n{gps_line}\n\n\
             [dial]\nrigctld = \"{}\"\n",
            station.call,
            station.operator,
            card.display(),
            feed.path().display(),
            radio.address(),
        );
        let config = folder.join("recorder.toml");
        fs::write(&config, text).map_err(PartError::file(&config))?;
        let outputs = Outputs {
            sound: Some(output),
            feed: Some(feed),
            serial: Some(serial),
            radio: Some(radio),
        };
        Ok(Self {
            outputs,
            config,
            card,
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
