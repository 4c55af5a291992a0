//! What a person takes out of the logbook: confirmed contacts in an open format.

mod choice;
mod clips;
mod page;
mod ways;

use std::fs;
use std::path::Path;

use anyhow::{Context as _, Result};
use chrono::Utc;
use jumpseat_log::{
    Contact, Entry, Export as Written, Filter, adif, gpx, table_csv, write_durably,
};

use crate::home::Home;
use crate::outcome::Outcome;
use crate::print;
use crate::text::count;

pub(crate) use choice::{Format, Selection, Which};

const PROGRAM: &str = "Jumpseat";
const VERSION: &str = env!("CARGO_PKG_VERSION");

/// Writes what was chosen, and writes down that it went out.
pub(crate) fn export(
    home: &Home,
    format: Format,
    selection: &Selection,
    out: &Path,
) -> Result<Outcome> {
    let (word, _) = format.words();
    let Some(mut logbook) = home.logbook_if_any()? else {
        print::line(&nothing(selection, word, 0))?;
        return Ok(Outcome::Done);
    };
    let mut entries = logbook.entries(&match &selection.which {
        Which::New => Filter::New(word),
        Which::All => Filter::Confirmed,
        Which::Trip(name) => Filter::Trip(name),
    })?;
    entries.retain(|entry| selection.holds(entry));
    let (mut entries, drafts): (Vec<Entry>, Vec<Entry>) = entries
        .into_iter()
        .partition(|entry| entry.contact.is_some());
    let mut doubts = Vec::new();
    entries.retain(|entry| {
        let writable = entry.contact.as_ref().map(adif::exportable);
        if let Some(Err(reason)) = &writable {
            doubts.push(format!("entry {}: left out: {reason}", entry.number));
        }
        matches!(writable, Some(Ok(())))
    });
    if !entries.is_empty() {
        let written = write(home, format, &mut entries, out)?;
        doubts.extend(written);
    }
    if entries.is_empty() {
        let confirmed = logbook.entries(&Filter::Confirmed)?.len();
        print::line(&nothing(selection, word, confirmed))?;
    } else {
        let numbers: Vec<(i64, i64)> = entries
            .iter()
            .map(|entry| (entry.number, entry.revision))
            .collect();
        let whole = fs::canonicalize(out)
            .with_context(|| format!("cannot find {} after it was written", out.display()))?;
        logbook.record_export(&Written {
            format: word,
            path: &whole.to_string_lossy(),
            entries: &numbers,
        })?;
        let many = count(entries.len(), "contact", "contacts");
        print::line(&format!("{}: {many}", out.display()))?;
    }
    for doubt in &doubts {
        print::line(&format!("doubt: {doubt}"))?;
    }
    if !drafts.is_empty() {
        let left = count(drafts.len(), "draft was left out", "drafts were left out");
        print::line(&format!("{left}: only what you confirmed is exported"))?;
    }
    if selection.which == Which::New {
        let changed = logbook.entries(&Filter::ChangedSinceExport(word))?;
        hint_at_changes(&changed)?;
    }
    Ok(Outcome::doubtful(!doubts.is_empty()))
}

/// Why nothing was written, and what to do.
fn nothing(selection: &Selection, word: &str, confirmed: usize) -> String {
    match (&selection.which, confirmed) {
        (_, 0) => "Nothing to export: no contact is confirmed yet. \
            `jumpseat confirm NUMBER --call CALL` confirms one"
            .to_owned(),
        (Which::New, _) => format!(
            "Nothing to export: what is confirmed went out as {word} before. --all or --trip TRIP \
             writes it again"
        ),
        _ => "Nothing to export: no confirmed contact is among those chosen. `jumpseat log` \
            lists all"
            .to_owned(),
    }
}

/// Writes the file or folder; takes out entries that cannot stand in it, and
/// gives the doubts.
fn write(home: &Home, format: Format, entries: &mut Vec<Entry>, out: &Path) -> Result<Vec<String>> {
    let contacts: Vec<Contact> = entries
        .iter()
        .filter_map(|entry| entry.contact.clone())
        .collect();
    let about = |index: usize, doubt: &str| {
        let number = entries.get(index).map_or(0, |entry| entry.number);
        format!("entry {number}: {doubt}")
    };
    let now = Utc::now();
    let (text, doubts) = match format {
        Format::Adif | Format::Adx => {
            let written = match format {
                Format::Adx => adif::write_adx(&contacts, PROGRAM, VERSION, now),
                _ => adif::write(&contacts, PROGRAM, VERSION, now),
            };
            let doubts = written.doubts.iter();
            let doubts = doubts.map(|(index, doubt)| about(*index, doubt)).collect();
            (written.text, doubts)
        }
        Format::Csv => {
            let text = table_csv::write(&contacts);
            (
                text.context("cannot put the contacts into CSV")?,
                Vec::new(),
            )
        }
        Format::Gpx => {
            let (tracks, mut doubts) = ways::of(home, entries);
            let written = gpx::write(&contacts, &tracks, PROGRAM, now);
            let placeless = written.placeless.iter();
            doubts.extend(
                placeless.map(|index| about(*index, "no waypoint: its place is not known")),
            );
            (written.text, doubts)
        }
        Format::Clips => return clips::write(home, entries, out),
    };
    write_durably(out, text.as_bytes())?;
    Ok(doubts)
}

/// What was corrected after it went out does not go out again by itself.
fn hint_at_changes(changed: &[Entry]) -> Result<()> {
    let numbers: Vec<String> = changed
        .iter()
        .map(|entry| entry.number.to_string())
        .collect();
    if !numbers.is_empty() {
        print::line(&format!(
            "Changed since they were exported, and not exported again: {}. Use --trip or --all \
             to write them too",
            numbers.join(", ")
        ))?;
    }
    Ok(())
}
