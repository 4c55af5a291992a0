//! Plays a drive script in real time into real parts.

use std::path::Path;
use std::time::{Duration, Instant};

use crate::parts::{LineFeed, PseudoTerminal, PulseServer, RigctldDaemon, SoundFifo};
use jumpseat_simulator::script::{self, DriveScriptEvent, ScriptError, ScriptInput};
use jumpseat_test_kit::PartError;

/// Where the sound goes.
#[derive(Debug)]
pub enum SoundOutput {
    /// Into the sink of an audio server.
    Pulse(PulseServer),
    /// Into a pipe that ALSA reads.
    Fifo(SoundFifo),
}

/// The parts that a drive is played into; those that are absent are left out.
#[derive(Debug, Default)]
pub struct PlayerOutputs {
    /// Sound.
    pub sound: Option<SoundOutput>,
    /// Key and mark.
    pub feed: Option<LineFeed>,
    /// The receiver's sentences.
    pub serial: Option<PseudoTerminal>,
    /// The dial.
    pub radio: Option<RigctldDaemon>,
}

/// Why a script could not be played.
#[derive(Debug, thiserror::Error)]
pub enum PlayError {
    /// The script.
    #[error(transparent)]
    Script(#[from] ScriptError),
    /// A part.
    #[error(transparent)]
    Part(#[from] PartError),
    /// The sound.
    #[error("cannot read the sound of the script: {0}")]
    Sound(#[from] hound::Error),
}

/// Plays the script in `folder` from its start at `start` to `end_s` seconds after it.
/// `progress` receives the seconds played and may return `false` to stop.
pub fn play(
    folder: &Path,
    outputs: &mut PlayerOutputs,
    start: Instant,
    end_s: f64,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<(), PlayError> {
    let events = script::read_events(folder)?;
    let PlayerOutputs {
        sound,
        feed,
        serial,
        radio,
    } = outputs;
    let wav = folder.join(script::SOUND_FILE);
    let mut lines = PlayerLines {
        feed,
        serial,
        radio,
    };
    let _player = match sound {
        Some(SoundOutput::Pulse(pulse)) => {
            sleep_until(start);
            Some(pulse.play(&wav)?)
        }
        Some(SoundOutput::Fifo(fifo)) => {
            fifo.feed(start, script::read_sound(folder)?)?;
            None
        }
        None => None,
    };
    run(&events, &mut lines, start, end_s, progress)
}

struct PlayerLines<'a> {
    feed: &'a mut Option<LineFeed>,
    serial: &'a mut Option<PseudoTerminal>,
    radio: &'a mut Option<RigctldDaemon>,
}

fn run(
    events: &[DriveScriptEvent],
    lines: &mut PlayerLines<'_>,
    start: Instant,
    end_s: f64,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<(), PlayError> {
    let mut events = events.iter().filter(|event| event.at_s <= end_s).peekable();
    let mut told_s = 0.0;
    loop {
        let next_s = events.peek().map_or(end_s, |event| event.at_s);
        // Progress is reported every second in any case.
        let tell_s = f64::min(told_s + 1.0, end_s);
        sleep_until(start + Duration::from_secs_f64(next_s.min(tell_s)));
        if tell_s <= next_s {
            told_s = tell_s;
            if !progress(told_s) || (tell_s >= end_s && events.peek().is_none()) {
                return Ok(());
            }
        }
        while let Some(event) = events.next_if(|event| event.at_s <= start.elapsed().as_secs_f64())
        {
            give(&event.input, lines)?;
        }
    }
}

fn give(input: &ScriptInput, lines: &mut PlayerLines<'_>) -> Result<(), PartError> {
    match input {
        ScriptInput::Ptt(down) => lines
            .feed
            .as_mut()
            .map_or(Ok(()), |feed| feed.set_line("ptt", *down)),
        ScriptInput::Mark(down) => lines
            .feed
            .as_mut()
            .map_or(Ok(()), |feed| feed.set_line("mark", *down)),
        ScriptInput::Nmea(sentence) => lines
            .serial
            .as_mut()
            .map_or(Ok(()), |serial| serial.send(sentence)),
        ScriptInput::Dial(dial) => lines
            .radio
            .as_mut()
            .map_or(Ok(()), |radio| radio.turn(dial)),
    }
}

fn sleep_until(when: Instant) {
    std::thread::sleep(when.saturating_duration_since(Instant::now()));
}
