//! What is said in the overs: the recogniser over every stretch of speech, on all
//! processors, and kept for the next time.
//!
//! What was heard in an over is kept in a file named by a hash of the recogniser's fingerprint
//! and of the samples: a second draft of an unchanged trip only reads it, and after Ctrl-C the
//! overs that were heard need not be heard again. The file holds what the recogniser gave, and
//! nothing that was made of it here.

use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use anyhow::{Error, Result, anyhow};
use jumpseat_draft::{HeardOver, HeardSign, HeardText, HeardWord, Span};
use jumpseat_files::write_private;
use jumpseat_speech::{Hearing, RtenModel, SpeechRecogniser, fingerprint, stretch};
use jumpseat_trip::{AudioDirection, Trip};
use jumpseat_values::display::hex;
use sha2::{Digest, Sha256};

use crate::outcome::error_message;
use crate::progress::ProgressLine;

/// An over to hear.
pub(super) struct HearTask {
    pub(super) direction: AudioDirection,
    pub(super) first_sample: u64,
    pub(super) count: u64,
    /// Where somebody speaks, in seconds since its first sample.
    pub(super) speech: Vec<(f64, f64)>,
}

/// What was heard in each over, and doubts about those that could not be heard.
pub(super) struct HearResults {
    pub(super) heard: Vec<Option<HeardOver>>,
    pub(super) doubts: Vec<String>,
}

/// Hears all `tasks`; `kept` is the folder for what was heard.
pub(super) fn hear(trip: &Trip, tasks: &[HearTask], kept: &Path) -> Result<HearResults> {
    let rate = f64::from(trip.header().audio.sample_rate);
    let seconds = |task: &HearTask| {
        let stretches = stretch::stretches_around(&task.speech, task.count as f64 / rate);
        stretches.iter().map(|(a, b)| b - a).sum::<f64>() as u64
    };
    let progress = ProgressLine::new("hearing", tasks.iter().map(seconds).sum(), false);
    let next = AtomicUsize::new(0);
    let found: Mutex<Vec<(usize, Result<OverResult>)>> = Mutex::new(Vec::new());
    let workers = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..workers.min(tasks.len()) {
            scope.spawn(|| {
                let mut ear = None;
                while let Some((number, task)) = {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    tasks.get(number).map(|task| (number, task))
                } {
                    let heard = one(trip, task, kept, &mut ear);
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
    let mut results = HearResults {
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

/// What was heard just now or kept from before, and why it could not be kept for the next
/// time. A disk that is full costs that time, and not what was heard.
struct OverResult {
    heard: HeardOver,
    lost: Option<Error>,
}

impl From<HeardOver> for OverResult {
    fn from(heard: HeardOver) -> Self {
        Self { heard, lost: None }
    }
}

/// Hears one over, or reads what was heard in it before. The model is made when it is
/// first needed, one for each thread.
fn one(
    trip: &Trip,
    task: &HearTask,
    kept: &Path,
    ear: &mut Option<SpeechRecogniser<RtenModel>>,
) -> Result<OverResult> {
    let rate = trip.header().audio.sample_rate;
    let stretches = stretch::stretches_around(&task.speech, task.count as f64 / f64::from(rate));
    if stretches.is_empty() {
        return Ok(HeardOver::default().into());
    }
    let mut name = Sha256::new();
    name.update(fingerprint());
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
    if let Some(hearings) = read(&file) {
        return Ok(heard_over(hearings).into());
    }
    let ear = match ear {
        Some(ear) => ear,
        none => none.insert(SpeechRecogniser::built_in()?),
    };
    let mut hearings = Vec::new();
    for (from, samples) in sounds {
        let start_s = (task.first_sample + from) as f64 / f64::from(rate);
        hearings.push(ear.hear_stretch(&samples, rate, start_s)?);
    }
    let kept = write_private(&file, &serde_json::to_vec(&hearings)?);
    let lost = kept.err().map(|error| {
        let what = "what was heard could not be kept, so that the next draft hears it again";
        Error::new(error).context(what)
    });
    let heard = heard_over(hearings);
    Ok(OverResult { heard, lost })
}

/// What was kept; nothing if there is none or if it cannot be read: it is heard again then.
fn read(file: &Path) -> Option<Vec<Hearing>> {
    serde_json::from_slice(&std::fs::read(file).ok()?).ok()
}

/// What was heard in all stretches of an over, as the draft takes it.
fn heard_over(hearings: Vec<Hearing>) -> HeardOver {
    let mut heard = HeardOver::default();
    for hearing in hearings {
        append(&mut heard, hearing);
    }
    heard
}

fn append(heard: &mut HeardOver, hearing: Hearing) {
    let span = |(from_s, to_s): (f64, f64)| Span::new(from_s, to_s);
    let texts = |list: Vec<jumpseat_speech::HeardValue>| {
        list.into_iter().map(move |said| HeardText {
            text: said.text,
            probability: said.probability,
            span: span(said.span_s),
        })
    };
    heard
        .words
        .extend(hearing.words.into_iter().map(|word| HeardWord {
            word: word.word.to_owned(),
            symbol: word.symbol.to_owned(),
            is_name: word.is_name,
            span: span(word.span_s),
            probability: word.probability,
        }));
    heard.signs.extend(hearing.signs.into_iter().map(|sign| {
        let others = sign.alternatives.into_iter();
        let first = std::iter::once((sign.text, sign.probability));
        HeardSign {
            candidates: first
                .chain(others.map(|other| (other.text, other.probability)))
                .collect(),
            spans: sign.spans_s.into_iter().map(span).collect(),
        }
    }));
    heard.reports.extend(texts(hearing.reports));
    heard.names.extend(texts(hearing.names));
    heard.numbers.extend(texts(hearing.numbers));
}
