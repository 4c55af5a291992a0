//! Recognises what is said in the overs, for the draft.

use std::path::Path;

use anyhow::Result;
use jumpseat_draft::{HeardOver, HeardSign, HeardText, HeardWord};
use jumpseat_speech::{Hearing, RtenModel, SpeechRecogniser};
use jumpseat_trip::Trip;
use jumpseat_values::Span;

use super::kept_hearings::{HearTask, HearingKind};

/// What was heard in each over, and doubts about those that could not be heard.
pub(super) struct HearResults {
    pub(super) heard: Vec<Option<HeardOver>>,
    pub(super) doubts: Vec<String>,
}

/// Hears all `tasks`; `kept` is the folder where what was heard is stored.
pub(super) fn hear(trip: &Trip, tasks: &[HearTask], kept: &Path) -> Result<HearResults> {
    let words = HearingKind {
        label: "hearing",
        tag: "",
        hear: |ear: &SpeechRecogniser<RtenModel>, samples: &[i16], rate, start_s| {
            ear.hear_stretch(samples, rate, start_s)
        },
    };
    let found = words.listen(trip, tasks, kept)?;
    let heard = found.heard.into_iter();
    Ok(HearResults {
        heard: heard.map(|heard| heard.map(heard_over)).collect(),
        doubts: found.doubts,
    })
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
