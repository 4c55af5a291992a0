//! `jumpseat hear`.

mod listing;
mod sound;

use std::path::{Path, PathBuf};

use anyhow::{Result, bail};
use clap::Args;
use jumpseat_speech::{Hearing, RtenModel, SpeechRecogniser};
use serde::Serialize;

use crate::outcome::CommandOutcome;
use crate::print;
use crate::progress::ProgressLine;
use listing::listing;
use sound::SoundSamples;

#[derive(Debug, Args)]
pub(crate) struct HearCommand {
    /// WAV or FLAC files of any length and rate, with one or two channels; two are mixed
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

/// What was heard in one file.
#[derive(Debug, Serialize)]
struct HeardFile {
    file: PathBuf,
    #[serde(flatten)]
    hearing: Hearing,
}

impl HearCommand {
    pub(super) fn run(self) -> Result<CommandOutcome> {
        let ear = SpeechRecogniser::built_in()?;
        let mut all = Vec::new();
        for file in self.files {
            let hearing = hear(&ear, &file)?;
            if !self.json {
                print::text(&listing(&file, &hearing))?;
            }
            all.push(HeardFile { file, hearing });
        }
        if self.json {
            print::json(&all)?;
        }
        Ok(CommandOutcome::doubtful(false))
    }
}

/// Hears a file second by second, so that hours of sound need no more memory than minutes.
fn hear(ear: &SpeechRecogniser<RtenModel>, file: &Path) -> Result<Hearing> {
    let name = file.display();
    let sound = SoundSamples::open(file)?;
    if !(1..=2).contains(&sound.channels) {
        bail!(
            "{name} has {} channels; only mono and stereo are supported",
            sound.channels
        );
    }
    let mut listener = ear.listener(sound.rate)?.with_transcript();
    let progress = ProgressLine::new("hearing", sound.frames, false);
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
