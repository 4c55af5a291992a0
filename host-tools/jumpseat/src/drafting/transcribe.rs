//! Writes down what was said in the overs of a trip's entries.
//!
//! A transcript takes longer than hearing call signs, so only speech in the time of an entry
//! is written down, and not the hours on the frequency between.

use std::path::Path;

use anyhow::Result;
use jumpseat_draft::DriveOver;
use jumpseat_entries::resolve::round_ms;
use jumpseat_entries::{Draft, OverTranscript, SaidWord, TripTranscript};
use jumpseat_speech::{RtenModel, SpeechRecogniser, TranscriptWord};
use jumpseat_trip::Trip;

use super::kept_hearings::{HearTask, HearingKind};

/// The transcript of those of the trip's overs that belong to the drafts, and doubts about
/// those that could not be heard; `kept` is the folder where what was heard is stored.
pub(super) fn transcribe<'a>(
    trip: &Trip,
    overs: impl Iterator<Item = (&'a DriveOver, &'a HearTask)>,
    drafts: &[&Draft],
    kept: &Path,
) -> Result<(TripTranscript, Vec<String>)> {
    let (mut written, mut tasks) = (Vec::new(), Vec::new());
    for (over, task) in overs {
        let direction = task.direction.name();
        let owners: Vec<&Draft> = drafts
            .iter()
            .copied()
            .filter(|draft| draft.has_over(direction, over.start_s))
            .collect();
        if owners.is_empty() {
            continue;
        }
        let meets = |&(from_s, to_s): &(f64, f64)| {
            owners.iter().any(|draft| {
                let (begins_s, ends_s) = draft.spoken_window_s();
                over.start_s + from_s < ends_s && begins_s < over.start_s + to_s
            })
        };
        written.push(OverTranscript {
            direction: direction.to_owned(),
            start_s: round_ms(over.start_s),
            end_s: round_ms(over.end_s),
            words: Vec::new(),
        });
        tasks.push(HearTask {
            speech: task.speech.iter().copied().filter(meets).collect(),
            ..task.clone()
        });
    }
    let text = HearingKind {
        label: "writing down",
        tag: "text",
        hear: |ear: &SpeechRecogniser<RtenModel>, samples: &[i16], rate, start_s| {
            let hearing = ear.hear_stretch(samples, rate, start_s)?;
            Ok(hearing.transcript)
        },
    };
    let found = text.listen(trip, &tasks, kept)?;
    // An over that could not be heard is left out: nobody knows whether nothing was said in it.
    let heard = written.into_iter().zip(found.heard);
    let overs = heard.filter_map(|(over, stretches)| {
        Some(OverTranscript {
            words: stretches?.into_iter().flatten().map(said).collect(),
            ..over
        })
    });
    Ok((TripTranscript::new(overs.collect()), found.doubts))
}

/// A word as it is stored: no more figures than say something.
fn said(word: TranscriptWord) -> SaidWord {
    SaidWord {
        text: word.text,
        span_s: (round_ms(word.span_s.0), round_ms(word.span_s.1)),
        probability: (word.probability * 1e3).round() / 1e3,
    }
}
