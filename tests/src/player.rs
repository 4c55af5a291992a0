//! Plays a script in real time into real parts.

use std::path::Path;
use std::time::{Duration, Instant};

use crate::parts::{Feed, PartError, Pulse, Rigctld, Serial, SoundFifo};
use jumpseat_simulator::script::{self, Input, ScriptError, ScriptEvent};

/// Where the sound goes.
#[derive(Debug)]
pub enum SoundOutput {
    /// Into the sink of an audio server.
    Pulse(Pulse),
    /// Into a pipe that ALSA reads.
    Fifo(SoundFifo),
}

/// The parts that a drive is played into; those that are absent are left out.
#[derive(Debug, Default)]
pub struct Outputs {
    /// Sound.
    pub sound: Option<SoundOutput>,
    /// Key and mark.
    pub feed: Option<Feed>,
    /// The receiver's sentences.
    pub serial: Option<Serial>,
    /// The dial.
    pub radio: Option<Rigctld>,
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

/// Plays the script in `folder` from its start at `start` to `end_s` seconds
/// after it; `progress` is told the seconds played and may say `false` to stop.
pub fn play(
    folder: &Path,
    outputs: &mut Outputs,
    start: Instant,
    end_s: f64,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<(), PlayError> {
    let events = script::read_events(folder)?;
    let Outputs {
        sound,
        feed,
        serial,
        radio,
    } = outputs;
    let wav = folder.join(script::SOUND);
    let mut lines = Lines {
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

struct Lines<'a> {
    feed: &'a mut Option<Feed>,
    serial: &'a mut Option<Serial>,
    radio: &'a mut Option<Rigctld>,
}

fn run(
    events: &[ScriptEvent],
    lines: &mut Lines<'_>,
    start: Instant,
    end_s: f64,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<(), PlayError> {
    let mut events = events.iter().filter(|event| event.at_s <= end_s).peekable();
    let mut told_s = 0.0;
    loop {
        let next_s = events.peek().map_or(end_s, |event| event.at_s);
        // Progress is told every second, whatever happens.
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

fn give(input: &Input, lines: &mut Lines<'_>) -> Result<(), PartError> {
    match input {
        Input::Ptt(down) => lines
            .feed
            .as_mut()
            .map_or(Ok(()), |feed| feed.say("ptt", *down)),
        Input::Mark(down) => lines
            .feed
            .as_mut()
            .map_or(Ok(()), |feed| feed.say("mark", *down)),
        Input::Nmea(sentence) => lines
            .serial
            .as_mut()
            .map_or(Ok(()), |serial| serial.send(sentence)),
        Input::Dial(dial) => lines
            .radio
            .as_mut()
            .map_or(Ok(()), |radio| radio.turn(dial)),
    }
}

fn sleep_until(when: Instant) {
    std::thread::sleep(when.saturating_duration_since(Instant::now()));
}
