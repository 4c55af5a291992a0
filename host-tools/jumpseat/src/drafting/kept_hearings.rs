//! Listens to overs on all processors, and stores what comes of it for the next draft.
//!
//! What was heard in an over is stored in a file that is named by a hash of the recogniser's
//! fingerprint and of the samples: a second draft of an unchanged trip only reads it, and after
//! Ctrl-C the overs that were heard need not be heard again. The file holds what the recogniser
//! gave, and nothing that was made of it here.

use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use anyhow::{Error, Result, anyhow};
use jumpseat_files::write_private;
use jumpseat_speech::{RecogniserError, RtenModel, SpeechRecogniser, fingerprint, stretch};
use jumpseat_trip::{AudioDirection, Trip};
use jumpseat_values::display::hex;
use serde::Serialize;
use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};

use crate::outcome::error_message;
use crate::progress::ProgressLine;

/// An over to hear.
#[derive(Debug, Clone)]
pub(super) struct HearTask {
    pub(super) direction: AudioDirection,
    pub(super) first_sample: u64,
    pub(super) count: u64,
    /// Where somebody speaks, in seconds since its first sample.
    pub(super) speech: Vec<(f64, f64)>,
}

/// What came of each over, a value for each of its stretches of speech, and doubts about those
/// that could not be heard.
pub(super) struct KeptHearings<T> {
    pub(super) heard: Vec<Option<Vec<T>>>,
    pub(super) doubts: Vec<String>,
}

/// A way to listen: what the recogniser is asked about a stretch.
pub(super) struct HearingKind<F> {
    /// What the progress line calls it.
    pub(super) label: &'static str,
    /// Tells its files from those of other kinds.
    pub(super) tag: &'static str,
    /// Hears the samples at a rate in hertz of a stretch that begins at a second of the trip.
    pub(super) hear: F,
}

impl<T, F> HearingKind<F>
where
    T: Serialize + DeserializeOwned + Clone + Send,
    F: Fn(&SpeechRecogniser<RtenModel>, &[i16], u32, f64) -> Result<T, RecogniserError> + Sync,
{
    /// Listens to all `tasks`; `kept` is the folder where what was heard is stored.
    pub(super) fn listen(
        &self,
        trip: &Trip,
        tasks: &[HearTask],
        kept: &Path,
    ) -> Result<KeptHearings<T>> {
        let rate = f64::from(trip.header().audio.sample_rate);
        let seconds = |task: &HearTask| {
            let stretches = stretch::stretches_around(&task.speech, task.count as f64 / rate);
            stretches.iter().map(|(a, b)| b - a).sum::<f64>() as u64
        };
        let progress = ProgressLine::new(self.label, tasks.iter().map(seconds).sum(), false);
        let next = AtomicUsize::new(0);
        let found: Mutex<Vec<(usize, Result<OverResult<T>>)>> = Mutex::new(Vec::new());
        let workers = std::thread::available_parallelism().map_or(1, usize::from);
        std::thread::scope(|scope| {
            for _ in 0..workers.min(tasks.len()) {
                scope.spawn(|| {
                    let mut ear = None;
                    while let Some((number, task)) = {
                        let number = next.fetch_add(1, Ordering::Relaxed);
                        tasks.get(number).map(|task| (number, task))
                    } {
                        let heard = self.one(trip, task, kept, &mut ear);
                        progress.add(seconds(task));
                        if let Ok(mut found) = found.lock() {
                            found.push((number, heard));
                        }
                    }
                });
            }
        });
        let found = found
            .into_inner()
            .map_err(|_| anyhow!("hearing broke off; draft the trip again"))?;
        let mut results = KeptHearings {
            heard: vec![None; tasks.len()],
            doubts: Vec::new(),
        };
        for (number, heard) in found {
            match heard {
                Ok(OverResult { heard, lost }) => {
                    results.heard[number] = Some(heard);
                    results.doubts.extend(lost.as_ref().map(error_message));
                }
                Err(error) => results.doubts.push(error_message(&error)),
            }
        }
        results.doubts.sort();
        results.doubts.dedup();
        Ok(results)
    }

    /// Hears one over, or reads what was heard in it before. Each thread loads a model when it
    /// first needs one.
    fn one(
        &self,
        trip: &Trip,
        task: &HearTask,
        kept: &Path,
        ear: &mut Option<SpeechRecogniser<RtenModel>>,
    ) -> Result<OverResult<T>> {
        let rate = trip.header().audio.sample_rate;
        let length_s = task.count as f64 / f64::from(rate);
        let stretches = stretch::stretches_around(&task.speech, length_s);
        if stretches.is_empty() {
            return Ok(Vec::new().into());
        }
        let mut name = Sha256::new();
        name.update(fingerprint());
        name.update(self.tag);
        name.update(task.first_sample.to_le_bytes());
        let mut sounds = Vec::new();
        for (from_s, to_s) in stretches {
            let from = (from_s * f64::from(rate)) as u64;
            let to = ((to_s * f64::from(rate)) as u64).min(task.count);
            let span = trip.read_span(
                task.direction,
                task.first_sample + from,
                to.saturating_sub(from),
            )?;
            name.update(from.to_le_bytes());
            for sample in &span.samples {
                name.update(sample.to_le_bytes());
            }
            sounds.push((from, span.samples));
        }
        let file = kept.join(format!("{}.json", hex(&name.finalize())));
        if let Some(heard) = read(&file) {
            return Ok(heard.into());
        }
        let ear = match ear {
            Some(ear) => ear,
            none => none.insert(SpeechRecogniser::built_in()?),
        };
        let mut heard: Vec<T> = Vec::new();
        for (from, samples) in sounds {
            let start_s = (task.first_sample + from) as f64 / f64::from(rate);
            heard.push((self.hear)(ear, &samples, rate, start_s)?);
        }
        let kept = write_private(&file, &serde_json::to_vec(&heard)?);
        let lost = kept.err().map(|error| {
            let what = "what was heard could not be kept, so that the next draft hears it again";
            Error::new(error).context(what)
        });
        Ok(OverResult { heard, lost })
    }
}

/// What was heard now or before, and why it could not be stored. A full disk costs time at the
/// next draft, but not what was heard.
struct OverResult<T> {
    heard: Vec<T>,
    lost: Option<Error>,
}

impl<T> From<Vec<T>> for OverResult<T> {
    fn from(heard: Vec<T>) -> Self {
        Self { heard, lost: None }
    }
}

/// Reads what was stored; `None` if it cannot be read, so that the over is heard again.
fn read<T: DeserializeOwned>(file: &Path) -> Option<Vec<T>> {
    serde_json::from_slice(&std::fs::read(file).ok()?).ok()
}
