//! One long over: all files without a sign, one after the other, as one recording.

use std::fs;
use std::path::Path;
use std::time::Instant;

use anyhow::{Context, Result, bail};
use jumpseat_speech::{RtenModel, SpeechRecogniser};

use crate::scores::read;
use crate::set::JudgingItem;

/// Hears the talk of the set as one over; gives a line with speed and memory.
pub(crate) fn heard(folder: &Path, weights: &Path, items: &[JudgingItem]) -> Result<String> {
    let talk: Vec<&JudgingItem> = items.iter().filter(|i| i.family == "talk").collect();
    let Some(first) = talk.first() else {
        bail!("there is no talk in the set: make it with judge.py --minutes 60");
    };
    let (_, rate) = read(&folder.join(&first.file))?;
    let ear = SpeechRecogniser::with_model(RtenModel::open(weights)?);
    let mut listener = ear.listener(rate)?;
    let (mut count, mut taken_s) = (0, 0.0);
    for item in talk {
        let (samples, _) = read(&folder.join(&item.file))?;
        count += samples.len();
        let start = Instant::now();
        listener.push(&samples)?;
        taken_s += start.elapsed().as_secs_f64();
    }
    let start = Instant::now();
    listener.finish()?;
    taken_s += start.elapsed().as_secs_f64();
    let length_s = count as f64 / f64::from(rate);
    Ok(format!(
        "One over of {:.0} min, unbroken talk: {:.0} times real time on one thread, {} MB at most.",
        length_s / 60.0,
        length_s / taken_s,
        most_memory_kb()? / 1024
    ))
}

/// The most memory that this process ever held (Linux, proc(5): VmHWM).
fn most_memory_kb() -> Result<u64> {
    let path = "/proc/self/status";
    let text = fs::read_to_string(path).with_context(|| path.to_string())?;
    let line = text.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    let figure = line.and_then(|l| l.split_whitespace().next());
    figure
        .and_then(|f| f.parse().ok())
        .with_context(|| format!("{path} has no VmHWM"))
}
