//! `jumpseat log --said`: entries in whose overs something was said.

mod searched;

use std::ops::Range;

use anyhow::Result;
use chrono::{DateTime, Utc};
use jumpseat_entries::{Draft, Entry, OverTranscript, SaidWord, SearchPhrase, spoken_sentences};
use jumpseat_logbook::{EntrySearch, Logbook};
use jumpseat_values::display::count;
use serde::Serialize;

use crate::command::entries::{self, LinesByNumber};
use crate::duplicates;
use crate::home::HomeFolder;
use crate::outcome::CommandOutcome;
use crate::print;
use crate::transcripts::{DOUBTFUL_LEGEND, StoredTranscripts, clock, speaker, written};
use searched::SearchedEntries;

/// Words that are shown before what was found, and after it.
const CONTEXT_WORDS: usize = 12;

/// What is looked for, and how it is shown.
pub(super) struct SaidQuery<'a> {
    /// The phrase as it was typed.
    pub(super) said: &'a str,
    pub(super) phrase: &'a SearchPhrase,
    /// The entries to search; only the last of those with a hit are shown.
    pub(super) search: EntrySearch<'a>,
    pub(super) json: bool,
}

impl SaidQuery<'_> {
    /// Searches the logbook, or nothing where there is none, and prints what was found.
    pub(super) fn run(
        &self,
        home: &HomeFolder,
        logbook: Option<&Logbook>,
    ) -> Result<CommandOutcome> {
        let search = EntrySearch {
            last: None,
            ..self.search
        };
        let entries = logbook.map(|logbook| logbook.search(&search)).transpose()?;
        let mut entries = entries.unwrap_or_default();
        let mut found = SaidResults::find(home, &entries, self)?;
        entries.retain(|entry| found.lines.contains_key(&entry.number));
        if let Some(last) = self.search.last {
            let spare = entries.len().saturating_sub(last as usize);
            for left_out in entries.drain(..spare) {
                found.hits.retain(|hit| hit.number != left_out.number);
            }
        }
        if self.json {
            print::json(&found)?;
            return Ok(CommandOutcome::Done);
        }
        if let (Some(logbook), false) = (logbook, entries.is_empty()) {
            let within = home.station()?.duplicate_window(None);
            let pairs = duplicates::duplicates_by_number(logbook, &entries, within)?;
            print::text(&entries::table_with_lines(&entries, &pairs, &found.lines))?;
            print::line("")?;
            for line in entries::legend(&entries) {
                print::line(line)?;
            }
            if found
                .lines
                .values()
                .flatten()
                .any(|line| line.contains("?]"))
            {
                print::line(DOUBTFUL_LEGEND)?;
            }
        }
        found.print_summary(home, entries.len())?;
        Ok(CommandOutcome::Done)
    }
}

/// What was found.
#[derive(Debug, Serialize)]
struct SaidResults {
    /// What was looked for.
    said: String,
    searched: SearchedEntries,
    hits: Vec<SaidHit>,
    /// The same for people: below each entry the sentences.
    #[serde(skip)]
    lines: LinesByNumber,
}

/// A place where it was said.
#[derive(Debug, Serialize)]
struct SaidHit {
    number: i64,
    trip: Option<String>,
    call: Option<String>,
    /// "rx" or "tx".
    direction: String,
    /// UTC of the first word, if it is known.
    utc: Option<DateTime<Utc>>,
    /// In seconds of trip time.
    span_s: (f64, f64),
    text: String,
    /// That of the least probable word, 0 to 1.
    probability: f64,
    /// With the words around it.
    sentence: String,
}

impl SaidResults {
    /// Looks for the phrase in the overs of `entries`.
    fn find(home: &HomeFolder, entries: &[Entry], query: &SaidQuery<'_>) -> Result<Self> {
        let mut results = Self {
            said: query.said.to_owned(),
            searched: SearchedEntries::default(),
            hits: Vec::new(),
            lines: LinesByNumber::new(),
        };
        let mut transcripts = StoredTranscripts::new(home);
        for entry in entries {
            match transcripts.of(entry) {
                Some(overs) => {
                    results.searched.with_transcript += 1;
                    for over in &overs {
                        results.add(entry, over, query.phrase);
                    }
                }
                None => results.searched.miss(home, entry)?,
            }
        }
        Ok(results)
    }

    fn add(&mut self, entry: &Entry, over: &OverTranscript, phrase: &SearchPhrase) {
        let draft = entry.draft.as_ref();
        let sentences = spoken_sentences(&over.words);
        // Hits close together are shown in one line.
        let mut shown: Vec<Range<usize>> = Vec::new();
        for hit in phrase.find(&over.words) {
            let around = around(&sentences, &hit);
            self.hits.push(found(entry, over, &hit, &around));
            match shown.last_mut() {
                Some(last) if around.start < last.end => last.end = around.end,
                _ => shown.push(around),
            }
        }
        let lines = shown.iter().map(|around| line(draft, over, around));
        let lines: Vec<String> = lines.collect();
        if !lines.is_empty() {
            self.lines.entry(entry.number).or_default().extend(lines);
        }
    }

    /// How many hits there are in the entries that are shown, and what could not be searched.
    fn print_summary(&self, home: &HomeFolder, shown: usize) -> Result<()> {
        let entries = count(self.searched.with_transcript, "entry", "entries");
        if self.hits.is_empty() {
            let said = &self.said;
            print::line(&format!(
                "'{said}' was not found in the transcripts of {entries}."
            ))?;
        } else {
            let hits = count(self.hits.len(), "hit", "hits");
            print::line(&format!("{hits} in {shown} of {entries} with a transcript"))?;
            let all = self.lines.len();
            if shown < all {
                print::line(&format!(
                    "the last {shown} of {all} entries with a hit; --last {all} shows all"
                ))?;
            }
        }
        self.searched.print_missing(home)
    }
}

/// The words to show with a hit: its sentence, or the part of a long one around it.
fn around(sentences: &[Range<usize>], hit: &Range<usize>) -> Range<usize> {
    let sentence = sentences.iter().find(|range| range.contains(&hit.start));
    let (first, end) = sentence.map_or((hit.start, hit.end), |range| (range.start, range.end));
    hit.start.saturating_sub(CONTEXT_WORDS).max(first)..(hit.end + CONTEXT_WORDS).min(end)
}

fn found(
    entry: &Entry,
    over: &OverTranscript,
    hit: &Range<usize>,
    around: &Range<usize>,
) -> SaidHit {
    let words = over.words.get(hit.clone()).unwrap_or_default();
    let first_s = words.first().map_or(over.start_s, |word| word.span_s.0);
    SaidHit {
        number: entry.number,
        trip: entry.trip.clone(),
        call: entry.call(),
        direction: over.direction.clone(),
        utc: entry.draft.as_ref().and_then(|draft| draft.utc_at(first_s)),
        span_s: (first_s, words.last().map_or(first_s, |word| word.span_s.1)),
        text: plain(words),
        probability: words
            .iter()
            .map(|word| word.probability)
            .fold(1.0, f64::min),
        sentence: plain(words_in(over, around)),
    }
}

/// When, who, and the words; dots where a sentence was cut.
fn line(draft: Option<&Draft>, over: &OverTranscript, around: &Range<usize>) -> String {
    let words = words_in(over, around);
    let first_s = words.first().map_or(over.start_s, |word| word.span_s.0);
    let sentences = spoken_sentences(&over.words);
    let dots = |cut: bool| if cut { "... " } else { "" };
    let begins = sentences.iter().any(|range| range.start == around.start);
    let ends = sentences.iter().any(|range| range.end == around.end);
    format!(
        "{} {}: {}{} {}",
        clock(draft, first_s),
        speaker(over),
        dots(!begins),
        written(words),
        dots(!ends)
    )
}

/// Words for programs.
fn plain(words: &[SaidWord]) -> String {
    let texts: Vec<&str> = words.iter().map(|word| word.text.as_str()).collect();
    texts.join(" ")
}

fn words_in<'a>(over: &'a OverTranscript, range: &Range<usize>) -> &'a [SaidWord] {
    over.words.get(range.clone()).unwrap_or_default()
}
