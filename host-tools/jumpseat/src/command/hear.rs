//! `jumpseat hear`.

use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use clap::Args;
use hound::{SampleFormat, WavReader};
use jumpseat_hear::{Ear, Hearing, Rten};
use serde::Serialize;

use crate::outcome::Outcome;
use crate::print;
use crate::progress::Progress;

#[derive(Debug, Args)]
pub(crate) struct Hear {
    /// WAV files of any rate, one or two channels; two are mixed
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

/// Hears a file second by second: hours of it need no more memory than minutes.
fn hear(ear: &Ear<Rten>, file: &Path) -> Result<Hearing> {
    let name = file.display();
    if matches!(file.try_exists(), Ok(false)) {
        bail!("there is no file {name}; check its name");
    }
    let reader = WavReader::open(file).with_context(|| {
        format!(
            "{name} cannot be read as a WAV file; convert it to 16-bit WAV (`flac -d FILE.flac` \
             makes one of a packed trip's files)"
        )
    })?;
    let spec = reader.spec();
    if !(1..=2).contains(&spec.channels) {
        bail!(
            "{name} has {} channels; one or two can be heard",
            spec.channels
        );
    }
    let mut listener = ear.listener(spec.sample_rate)?;
    let progress = Progress::new("hearing", u64::from(reader.duration()), false);
    let scale = 2_f32.powi(i32::from(spec.bits_per_sample) - 1);
    let samples: Box<dyn Iterator<Item = hound::Result<f32>>> = match spec.sample_format {
        SampleFormat::Float => Box::new(reader.into_samples::<f32>()),
        SampleFormat::Int => Box::new(
            reader
                .into_samples::<i32>()
                .map(move |sample| sample.map(|x| x as f32 / scale)),
        ),
    };
    let channels = usize::from(spec.channels);
    let second = spec.sample_rate as usize;
    let (mut block, mut frame) = (Vec::with_capacity(second), Vec::with_capacity(channels));
    for sample in samples {
        frame.push(sample.with_context(|| {
            format!("{name} ends in the middle of a sample or is damaged; mend it or cut it, then try again")
        })?);
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

/// Words with times, then call signs with their other readings, then the rest.
fn listing(file: &Path, hearing: &Hearing) -> String {
    let percent = |p: f64| format!("{:.0} %", 100.0 * p);
    let mut out = format!("{}\n", file.display());
    for word in &hearing.words {
        let (from, to) = word.span_s;
        out.push_str(&format!(
            "  {from:8.2} to {to:.2} s  {:<14} {}\n",
            word.word,
            percent(word.probability)
        ));
    }
    for sign in &hearing.signs {
        out.push_str(&format!(
            "  call sign {} {}, said {} x",
            sign.text,
            percent(sign.probability),
            sign.spans_s.len()
        ));
        for other in &sign.alternatives {
            out.push_str(&format!("; {} {}", other.text, percent(other.probability)));
        }
        out.push('\n');
    }
    for (what, list) in [
        ("report", &hearing.reports),
        ("name", &hearing.names),
        ("number", &hearing.numbers),
    ] {
        for said in list {
            out.push_str(&format!(
                "  {what} {} {}\n",
                said.text,
                percent(said.probability)
            ));
        }
    }
    if hearing.speech.is_empty() {
        out.push_str("  nobody speaks\n");
    }
    out
}
