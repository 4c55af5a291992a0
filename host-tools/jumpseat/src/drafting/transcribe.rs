//! Writes down what was said in the overs of a trip's entries, for people and for the draft.
//!
//! A transcript takes longer than hearing call signs, so only speech in the time of an entry
//! is written down, and not the hours on the frequency between.

use std::path::Path;

use anyhow::Result;
use jumpseat_draft::{AssemblyInput, DriveOver, WrittenWord};
use jumpseat_entries::resolve::round_ms;
use jumpseat_entries::{Draft, OverTranscript, SaidWord, TripTranscript};
use jumpseat_speech::{RtenModel, SpeechRecogniser, TranscriptWord};
use jumpseat_trip::Trip;
use jumpseat_values::{Doubt, Span};

use super::kept_hearings::{HearTask, HearingKind};

/// What was said in those of a trip's overs that belong to entries.
pub(super) struct WrittenOvers {
    /// In order.
    overs: Vec<WrittenOver>,
    /// About those that could not be heard.
    pub(super) doubts: Vec<Doubt>,
}

/// What was said in an over.
struct WrittenOver {
    /// Its number among the overs of the drive.
    number: usize,
    /// For people.
    transcript: OverTranscript,
    /// For the draft: with the names that words may be.
    text: Vec<WrittenWord>,
}

impl WrittenOvers {
    /// Gives the texts to the overs of the drive. One that nobody could listen to stays one
    /// that was not listened to.
    pub(super) fn give_to(&self, drive: &mut AssemblyInput) {
        for over in &self.overs {
            let heard = drive.overs.get_mut(over.number);
            if let Some(heard) = heard.and_then(|over| over.heard.as_mut()) {
                heard.text.clone_from(&over.text);
            }
        }
    }

    /// The transcript as it is stored.
    pub(super) fn into_transcript(self) -> TripTranscript {
        TripTranscript::new(self.overs.into_iter().map(|o| o.transcript).collect())
    }
}

/// A word as the draft takes it: with the times and the probability that are stored.
fn written_word(word: TranscriptWord) -> WrittenWord {
    let names = word.names.clone();
    let said = said(word);
    WrittenWord {
        word: said.text,
        span: Span::new(said.span_s.0, said.span_s.1),
        probability: said.probability,
        names,
    }
}

/// Writes down what was said in those of the trip's overs that belong to the drafts; `kept` is
/// the folder where what was heard is stored.
pub(super) fn transcribe<'a>(
    trip: &Trip,
    overs: impl Iterator<Item = (&'a DriveOver, &'a HearTask)>,
    drafts: &[Draft],
    kept: &Path,
) -> Result<WrittenOvers> {
    let (written, tasks): (Vec<_>, Vec<_>) = overs
        .enumerate()
        .filter_map(|(number, (over, task))| {
            let (over, task) = part_of_entries(over, task, drafts)?;
            Some(((number, over), task))
        })
        .unzip();
    let text = HearingKind {
        label: "writing down",
        tag: "text",
        hear: |ear: &SpeechRecogniser<RtenModel>, samples: &[i16], rate, start_s| {
            ear.transcribe_stretch(samples, rate, start_s)
        },
    };
    let found = text.listen(trip, &tasks, kept)?;
    // An over that could not be heard is left out: nobody knows whether nothing was said in it.
    let heard = written.into_iter().zip(found.heard);
    let overs = heard.filter_map(|((number, over), stretches)| {
        let words: Vec<TranscriptWord> = stretches?.into_iter().flatten().collect();
        let text = words.iter().cloned().map(written_word).collect();
        let words = words.into_iter().map(said).collect();
        let transcript = OverTranscript { words, ..over };
        Some(WrittenOver {
            number,
            transcript,
            text,
        })
    });
    Ok(WrittenOvers {
        overs: overs.collect(),
        doubts: found.doubts.into_iter().map(Doubt::Other).collect(),
    })
}

/// The over without its words yet, and the speech in it that is in the time of one of the
/// drafts; `None` for an over of no draft.
fn part_of_entries(
    over: &DriveOver,
    task: &HearTask,
    drafts: &[Draft],
) -> Option<(OverTranscript, HearTask)> {
    let direction = task.direction.name();
    let windows: Vec<(f64, f64)> = drafts
        .iter()
        .filter(|draft| draft.has_over(direction, over.start_s))
        .map(|draft| draft.spoken_window_s())
        .collect();
    if windows.is_empty() {
        return None;
    }
    let meets = |&(from_s, to_s): &(f64, f64)| {
        let (from_s, to_s) = (over.start_s + from_s, over.start_s + to_s);
        windows
            .iter()
            .any(|(begins_s, ends_s)| from_s < *ends_s && *begins_s < to_s)
    };
    let written = OverTranscript {
        direction: direction.to_owned(),
        start_s: round_ms(over.start_s),
        end_s: round_ms(over.end_s),
        words: Vec::new(),
    };
    let task = HearTask {
        speech: task.speech.iter().copied().filter(meets).collect(),
        ..task.clone()
    };
    Some((written, task))
}

/// A word as it is stored: no more figures than say something.
fn said(word: TranscriptWord) -> SaidWord {
    SaidWord {
        text: word.text,
        span_s: (round_ms(word.span_s.0), round_ms(word.span_s.1)),
        probability: (word.probability * 1e3).round() / 1e3,
    }
}

#[cfg(test)]
mod tests {
    use jumpseat_draft::{OverDirection, SpeechActivity};
    use jumpseat_entries::{DraftKind, DraftOver};
    use jumpseat_trip::AudioDirection;
    use jumpseat_values::Estimate;

    use super::*;

    /// A draft with received overs that begin at these seconds.
    fn draft(on_s: f64, off_s: f64, overs: &[f64]) -> Draft {
        let over = |&start_s: &f64| DraftOver {
            direction: "rx".into(),
            start_s,
            end_s: start_s + 3600.0,
            segments: vec![1],
        };
        Draft {
            kind: DraftKind::Contact,
            on_s,
            off_s,
            marks_s: Vec::new(),
            call: Estimate::default(),
            on: Estimate::default(),
            off: Estimate::default(),
            hz: Estimate::default(),
            mode: Estimate::default(),
            band: Estimate::default(),
            locator: Estimate::default(),
            lat: Estimate::default(),
            lon: Estimate::default(),
            area: Estimate::default(),
            area_off: None,
            sent: Estimate::default(),
            received: Estimate::default(),
            name: Estimate::default(),
            their_locator: Estimate::default(),
            remark: Estimate::default(),
            station: None,
            operator: None,
            overs: overs.iter().map(over).collect(),
            doubts: Vec::new(),
        }
    }

    /// What is to be written down of an hour's over that begins at second 100 and in which
    /// somebody speaks at its seconds 0 to 10, 1000 to 1010 and 3590 to 3600.
    #[track_caller]
    fn check(drafts: &[Draft], expected: Option<&[(f64, f64)]>) {
        let over = DriveOver {
            direction: OverDirection::Rx,
            start_s: 100.0003,
            end_s: 3700.0,
            activity: SpeechActivity::Unknown,
            heard: None,
        };
        let task = HearTask {
            direction: AudioDirection::Rx,
            first_sample: 1_600_005,
            count: 57_600_000,
            speech: vec![(0.0, 10.0), (1000.0, 1010.0), (3590.0, 3600.0)],
        };
        let part = part_of_entries(&over, &task, drafts);
        let speech = part.as_ref().map(|(_, task)| task.speech.as_slice());
        assert_eq!(speech, expected);
        if let Some((over, _)) = part {
            assert_eq!((over.start_s, over.direction.as_str()), (100.0, "rx"));
        }
    }

    #[test]
    fn only_speech_in_the_time_of_an_entry_is_written_down() {
        let before = || draft(50.0, 120.0, &[60.0, 100.0]);
        let after = || draft(3695.0, 3800.0, &[100.0, 3700.0]);
        check(&[], None);
        check(&[draft(50.0, 120.0, &[60.0])], None);
        check(&[before()], Some(&[(0.0, 10.0)]));
        check(&[after()], Some(&[(3590.0, 3600.0)]));
        check(&[before(), after()], Some(&[(0.0, 10.0), (3590.0, 3600.0)]));
        // Nobody spoke near it.
        check(&[draft(500.0, 600.0, &[100.0])], Some(&[]));
    }
}
