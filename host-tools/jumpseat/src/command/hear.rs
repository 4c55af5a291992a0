//! `jumpseat hear`.

mod listing;
mod sound;

use std::path::{Path, PathBuf};

use anyhow::{Result, bail};
use clap::Args;
use jumpseat_speech::{Ear, Hearing, Rten};
use serde::Serialize;

use crate::outcome::Outcome;
use crate::print;
use crate::progress::Progress;
use listing::listing;
use sound::Sound;

#[derive(Debug, Args)]
pub(crate) struct Hear {
    /// WAV or FLAC files of any length and rate, one or two channels; two are mixed
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Prints JSON
    #[arg(long)]
    json: bool,
}

/// What was heard in one file.
#[derive(Debug, Serialize)]
struct Heard {
    file: PathBuf,
    #[serde(flatten)]
    hearing: Hearing,
}

impl Hear {
    pub(super) fn run(self) -> Result<Outcome> {
        let ear = Ear::built_in()?;
        let mut all = Vec::new();
        for file in self.files {
            let hearing = hear(&ear, &file)?;
            if !self.json {
                print::text(&listing(&file, &hearing))?;
            }
            all.push(Heard { file, hearing });
        }
        if self.json {
            print::json(&all)?;
        }
        Ok(Outcome::doubtful(false))
    }
}

/// Hears a file second by second: hours of sound need no more memory than minutes.
fn hear(ear: &Ear<Rten>, file: &Path) -> Result<Hearing> {
    let name = file.display();
    let sound = Sound::open(file)?;
    if !(1..=2).contains(&sound.channels) {
        bail!(
            "{name} has {} channels; one or two can be heard",
            sound.channels
        );
    }
    let mut listener = ear.listener(sound.rate)?;
    let progress = Progress::new("hearing", sound.frames, false);
    let (channels, second) = (sound.channels, sound.rate as usize);
    let (mut block, mut frame) = (Vec::with_capacity(second), Vec::with_capacity(channels));
    for sample in sound.samples {
        frame.push(sample?);
        if frame.len() == channels {
            block.push((frame.iter().sum::<f32>() / channels as f32 * 32767.0) as i16);
            frame.clear();
        }
        if block.len() == second {
            listener.push(&block)?;
            progress.add(block.len() as u64);
            block.clear();
        }
    }
    listener.push(&block)?;
    Ok(listener.finish()?)
}
