//! `jumpseat log --entry`: an entry with everything that was said in its overs.

use anyhow::Result;
use chrono::{DateTime, Utc};
use jumpseat_entries::{Entry, OverTranscript};
use jumpseat_logbook::Logbook;
use serde::Serialize;

use crate::command::entries::{self, LinesByNumber};
use crate::duplicates;
use crate::home::HomeFolder;
use crate::outcome::CommandOutcome;
use crate::print;
use crate::transcripts::{DOUBTFUL_LEGEND, StoredTranscripts, clock, speaker, written};

/// An entry and its text.
#[derive(Debug, Serialize)]
struct EntryWithTranscript<'a> {
    #[serde(flatten)]
    entry: &'a Entry,
    /// Null if none of its overs was written down.
    transcript: Option<Vec<OverWithTime>>,
}

#[derive(Debug, Serialize)]
struct OverWithTime {
    /// When it began, or the entry's part of it, if that is known.
    utc: Option<DateTime<Utc>>,
    #[serde(flatten)]
    over: OverTranscript,
}

/// Prints an entry of the logbook.
pub(super) fn print_entry(
    home: &HomeFolder,
    logbook: &Logbook,
    number: i64,
    json: bool,
) -> Result<CommandOutcome> {
    let entry = logbook.entry(number)?;
    let overs = StoredTranscripts::new(home).of(&entry);
    let draft = entry.draft.as_ref();
    // A received over may have begun an hour before the entry.
    let begins_s = |over: &OverTranscript| {
        let from_s = draft.map_or(f64::MIN, |draft| draft.spoken_window_s().0);
        over.start_s.max(from_s)
    };
    if json {
        let transcript = overs.map(|overs| {
            let timed = overs.into_iter().map(|over| OverWithTime {
                utc: draft.and_then(|draft| draft.utc_at(begins_s(&over))),
                over,
            });
            timed.collect()
        });
        print::json(&[EntryWithTranscript {
            entry: &entry,
            transcript,
        }])?;
        return Ok(CommandOutcome::Done);
    }
    let lines: Vec<String> = match &overs {
        Some(overs) => overs
            .iter()
            .map(|over| {
                let text = written(&over.words);
                let text = if text.is_empty() { "no speech" } else { &text };
                format!("{} {}: {text}", clock(draft, begins_s(over)), speaker(over))
            })
            .collect(),
        None => vec![match &entry.trip {
            Some(trip) if home.trips().join(trip).is_dir() => format!(
                "no transcript yet; `{} draft {trip}` writes it",
                home.command()
            ),
            _ => "no transcript: its sound is not in the library".to_owned(),
        }],
    };
    let doubtful = lines.iter().any(|line| line.contains("?]"));
    let entries = [entry];
    let within = home.station()?.duplicate_window(None);
    let pairs = duplicates::duplicates_by_number(logbook, &entries, within)?;
    let lines = LinesByNumber::from([(number, lines)]);
    print::text(&entries::table_with_lines(&entries, &pairs, &lines))?;
    print::line("")?;
    for line in entries::legend(&entries) {
        print::line(line)?;
    }
    if doubtful {
        print::line(DOUBTFUL_LEGEND)?;
    }
    Ok(CommandOutcome::Done)
}
