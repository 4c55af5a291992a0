//! What was said in the overs of entries: reads it, and writes it for people.

use std::collections::HashMap;
use std::fs;
use std::io::ErrorKind;

use jumpseat_entries::{Draft, Entry, OverTranscript, SaidWord, TripTranscript};
use jumpseat_speech::DOUBTFUL_WORD;
use jumpseat_values::display::nearest_second;

use crate::home::HomeFolder;
use crate::print;

/// The stored transcripts of a home; each file is read once.
pub(crate) struct StoredTranscripts<'a> {
    home: &'a HomeFolder,
    trips: HashMap<String, Option<TripTranscript>>,
}

impl<'a> StoredTranscripts<'a> {
    pub(crate) fn new(home: &'a HomeFolder) -> Self {
        Self {
            home,
            trips: HashMap::new(),
        }
    }

    /// The overs of an entry; `None` if none of them was written down. A file that cannot be
    /// read is reported and counts as none.
    pub(crate) fn of(&mut self, entry: &Entry) -> Option<Vec<OverTranscript>> {
        let (trip, draft) = entry.trip.as_ref().zip(entry.draft.as_ref())?;
        let home = self.home;
        let stored = self.trips.entry(trip.clone());
        let transcript = stored.or_insert_with(|| read(home, trip));
        let overs = transcript.as_ref()?.of_draft(draft);
        (!overs.is_empty()).then_some(overs)
    }
}

fn read(home: &HomeFolder, trip: &str) -> Option<TripTranscript> {
    let file = home.transcript_file(trip);
    let warn = |why: &str| {
        let (file, command) = (file.display(), home.command());
        print::warning(&format!(
            "{file} {why}; `{command} draft {trip}` writes it again"
        ));
    };
    let bytes = match fs::read(&file) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == ErrorKind::NotFound => return None,
        Err(error) => {
            warn(&format!("cannot be read: {error}"));
            return None;
        }
    };
    match serde_json::from_slice::<TripTranscript>(&bytes) {
        Ok(transcript) if transcript.is_known_format() => return Some(transcript),
        Ok(_) => warn("is of a newer jumpseat"),
        Err(error) => warn(&format!("is damaged: {error}")),
    }
    None
}

/// Words for people: a doubtful one stands in brackets, with a question mark.
pub(crate) fn written(words: &[SaidWord]) -> String {
    marked(
        words
            .iter()
            .map(|word| (word.text.as_str(), word.probability)),
    )
}

/// The same of words with their probabilities.
pub(crate) fn marked<'a>(words: impl Iterator<Item = (&'a str, f64)>) -> String {
    let shown = words.map(|(text, probability)| {
        if probability < DOUBTFUL_WORD {
            format!("[{text}?]")
        } else {
            text.to_owned()
        }
    });
    shown.collect::<Vec<_>>().join(" ")
}

/// Explains the brackets, if there are any.
pub(crate) const DOUBTFUL_LEGEND: &str = "[?]  a doubtful word: listen before you believe it";

/// The UTC time of a second of an entry's trip, or the second where UTC is not known.
pub(crate) fn clock(draft: Option<&Draft>, at_s: f64) -> String {
    match draft.and_then(|draft| draft.utc_at(at_s)) {
        Some(utc) => nearest_second(utc).format("%H:%M:%S").to_string(),
        None => format!("+{at_s:.0} s"),
    }
}

/// Who spoke in an over.
pub(crate) fn speaker(over: &OverTranscript) -> &'static str {
    if over.direction == "tx" {
        "transmitted"
    } else {
        "received"
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_doubtful_word_is_marked() {
        let word = |text: &str, probability| SaidWord {
            text: text.to_owned(),
            span_s: (0.0, 1.0),
            probability,
        };
        for (words, expected) in [
            (vec![], ""),
            (vec![word("good", 0.9)], "good"),
            (
                vec![word("good", 0.8), word("antenna", 0.79)],
                "good [antenna?]",
            ),
        ] {
            assert_eq!(written(&words), expected);
        }
    }
}
