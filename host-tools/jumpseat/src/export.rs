//! What a person takes out of the logbook: confirmed contacts in an open format.

mod clips;
mod page;
mod segments;
mod selection;
mod staging;
mod tracks;

use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, bail};
use chrono::Utc;
use jumpseat_entries::{Contact, Entry, OwnStation, contact_start};
use jumpseat_files::{clear_unfinished, write_durably};
use jumpseat_formats::{adif, gpx, table_csv};
use jumpseat_logbook::{EntryFilter, EntrySearch, Logbook, NewExport as Written};
use jumpseat_values::display::count;
use serde::Serialize;

use crate::home::HomeFolder;
use crate::outcome::CommandOutcome;
use crate::print;
use crate::station;
use crate::system;

pub(crate) use segments::segments;
pub(crate) use selection::{ExportFormat, ExportScope, ExportSelection};

const PROGRAM: &str = "Jumpseat";
const VERSION: &str = env!("CARGO_PKG_VERSION");

/// What a draft says of itself in every file.
const DRAFT_COMMENT: &str = "draft, not confirmed";

/// What was written, and what was not.
#[derive(Debug, Default, Serialize)]
pub(crate) struct ExportReport {
    format: &'static str,
    /// `None` when nothing was written.
    pub(crate) file: Option<PathBuf>,
    /// Numbers of the entries in it.
    pub(crate) entries: Vec<i64>,
    doubts: Vec<String>,
    /// Drafts that were chosen and left out.
    drafts_left_out: usize,
    /// Entries that were changed since they went out, and did not go out again.
    changed_since: Vec<i64>,
    /// Why nothing was written.
    nothing: Option<String>,
}

/// Writes what was chosen, and writes down that it went out.
pub(crate) fn export(
    home: &HomeFolder,
    format: ExportFormat,
    selection: &ExportSelection,
    out: &Path,
    json: bool,
) -> Result<CommandOutcome> {
    let report = write_export(home, format, selection, out)?;
    if json {
        print::json(&report)?;
    } else {
        report.say()?;
    }
    Ok(CommandOutcome::doubtful(!report.doubts.is_empty()))
}

/// As [`export`], and prints nothing.
pub(crate) fn write_export(
    home: &HomeFolder,
    format: ExportFormat,
    selection: &ExportSelection,
    out: &Path,
) -> Result<ExportReport> {
    match home.logbook_if_any()? {
        Some(mut logbook) => take_out(home, &mut logbook, format, selection, out),
        None => {
            let (word, _) = format.words();
            Ok(ExportReport {
                format: word,
                nothing: Some(nothing(home, selection, word, 0)),
                ..ExportReport::default()
            })
        }
    }
}

fn take_out(
    home: &HomeFolder,
    logbook: &mut Logbook,
    format: ExportFormat,
    selection: &ExportSelection,
    out: &Path,
) -> Result<ExportReport> {
    let (word, _) = format.words();
    let mut report = ExportReport {
        format: word,
        ..ExportReport::default()
    };
    let mut entries = logbook.search(&selection.search(word))?;
    if selection.drafts && selection.which == ExportScope::New {
        entries.extend(logbook.entries(&EntryFilter::Unconfirmed)?);
    }
    entries.retain(|entry| !entry.is_no_contact());
    let confirmed: Vec<i64> = numbers(&entries, |entry| entry.contact.is_some());
    if selection.drafts {
        let own = home.station()?.own();
        for entry in entries.iter_mut().filter(|entry| entry.contact.is_none()) {
            entry.contact = Some(as_contact(entry, &own));
        }
    }
    report.drafts_left_out = numbers(&entries, |entry| entry.contact.is_none()).len();
    entries.retain(|entry| match entry.contact.as_ref().map(adif::exportable) {
        Some(Err(reason)) => {
            let number = entry.number;
            report
                .doubts
                .push(format!("entry {number}: left out: {reason}"));
            false
        }
        writable => writable.is_some(),
    });
    if matches!(
        format,
        ExportFormat::Adif | ExportFormat::Adx | ExportFormat::Csv
    ) {
        report.doubts.extend(name_station(home, &mut entries)?);
    }
    if !entries.is_empty() {
        let written = write(home, format, &mut entries, out)?;
        report.doubts.extend(written);
    }
    if entries.is_empty() {
        let confirmed = logbook.count_found(&EntrySearch::by_filter(EntryFilter::Confirmed))?;
        report.nothing = Some(nothing(home, selection, word, confirmed));
    } else {
        let whole = system::full_path(out)
            .with_context(|| format!("cannot find {} after it was written", out.display()))?;
        // A draft may change its every word until it is confirmed.
        let sent: Vec<(i64, i64)> = entries
            .iter()
            .filter(|entry| confirmed.contains(&entry.number))
            .map(|entry| (entry.number, entry.revision))
            .collect();
        logbook.record_export(&Written {
            format: word,
            path: &whole.to_string_lossy(),
            entries: &sent,
        })?;
        report.entries = numbers(&entries, |_| true);
        report.file = Some(out.to_owned());
    }
    if selection.which == ExportScope::New {
        let changed = logbook.entries(&EntryFilter::ChangedSinceExport(word))?;
        report.changed_since = numbers(&changed, |_| true);
    }
    Ok(report)
}

/// Contacts that were confirmed before the own call sign was written down get it;
/// gives the doubt about those that still have none.
fn name_station(home: &HomeFolder, entries: &mut [Entry]) -> Result<Option<String>> {
    let own = home.station()?.own();
    for entry in entries.iter_mut() {
        entry.contact = own.signed(entry);
    }
    let nameless = numbers(entries, |entry| {
        let contact = entry.contact.as_ref();
        !entry.imported && contact.is_some_and(|contact| contact.station.is_none())
    });
    Ok((!nameless.is_empty()).then(|| {
        let entries = if nameless.len() == 1 {
            "entry"
        } else {
            "entries"
        };
        format!(
            "{entries} {}: {}, then export again with --all",
            listed(&nameless),
            station::own_call_unknown(&home.station_file())
        )
    }))
}

fn numbers(entries: &[Entry], which: impl Fn(&Entry) -> bool) -> Vec<i64> {
    let chosen = entries.iter().filter(|entry| which(entry));
    chosen.map(|entry| entry.number).collect()
}

fn listed(numbers: &[i64]) -> String {
    let numbers: Vec<String> = numbers.iter().map(ToString::to_string).collect();
    numbers.join(", ")
}

/// A draft as it would be confirmed; it says that it is none.
fn as_contact(entry: &Entry, own: &OwnStation) -> Contact {
    let mut contact = contact_start(entry, own, &mut Vec::new());
    if let Some(draft) = &entry.draft {
        draft.fill_heard(&mut contact);
    }
    contact.comment = Some(match contact.comment {
        Some(remark) => format!("{DRAFT_COMMENT}; {remark}"),
        None => DRAFT_COMMENT.to_owned(),
    });
    contact
}

impl ExportReport {
    fn say(&self) -> Result<()> {
        if let Some(file) = &self.file {
            let many = count(self.entries.len(), "contact", "contacts");
            print::line(&format!("{}: {many}", file.display()))?;
        }
        for note in self.notes() {
            print::line(&note)?;
        }
        Ok(())
    }

    /// What a person should know, a sentence each.
    pub(crate) fn notes(&self) -> Vec<String> {
        let mut notes: Vec<String> = self.nothing.iter().cloned().collect();
        notes.extend(self.doubts.iter().map(|doubt| format!("doubt: {doubt}")));
        if self.drafts_left_out > 0 {
            let left = count(
                self.drafts_left_out,
                "draft was left out",
                "drafts were left out",
            );
            notes.push(format!("{left}: only what you confirmed is exported"));
        }
        // What was corrected after it went out does not go out again by itself.
        if !self.changed_since.is_empty() {
            notes.push(format!(
                "Changed since they were exported, and not exported again: {}. Use --trip or \
                 --all to write them too",
                listed(&self.changed_since)
            ));
        }
        notes
    }
}

/// Why nothing was written, and what to do.
fn nothing(home: &HomeFolder, selection: &ExportSelection, word: &str, confirmed: u64) -> String {
    let command = home.command();
    match (&selection.which, confirmed) {
        (_, 0) => format!(
            "Nothing to export: no contact is confirmed yet. `{command} review` lets you hear \
             and confirm them"
        ),
        (ExportScope::New, _) => format!(
            "Nothing to export: what you confirmed went out as {word} before. --all or --trip TRIP \
             writes it again"
        ),
        _ => format!(
            "Nothing to export: no confirmed contact is among those chosen. `{command} log` lists \
             all"
        ),
    }
}

/// Writes the file or folder; takes out entries that cannot stand in it, and
/// gives the doubts.
fn write(
    home: &HomeFolder,
    format: ExportFormat,
    entries: &mut Vec<Entry>,
    out: &Path,
) -> Result<Vec<String>> {
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
        ExportFormat::Adif | ExportFormat::Adx => {
            let written = match format {
                ExportFormat::Adx => adif::write_adx(&contacts, PROGRAM, VERSION, now),
                _ => adif::write(&contacts, PROGRAM, VERSION, now),
            };
            let doubts = written.doubts.iter();
            let doubts = doubts.map(|(index, doubt)| about(*index, doubt)).collect();
            (written.text, doubts)
        }
        ExportFormat::Csv => {
            let text = table_csv::write(&contacts);
            (
                text.context("cannot put the contacts into CSV")?,
                Vec::new(),
            )
        }
        ExportFormat::Gpx => {
            let (tracks, mut doubts) = tracks::of(home, entries);
            let written = gpx::write(&contacts, &tracks, PROGRAM, now);
            let placeless = written.placeless.iter();
            doubts.extend(
                placeless.map(|index| about(*index, "no waypoint: its place is not known")),
            );
            (written.text, doubts)
        }
        ExportFormat::Clips => return clips::write(home, entries, out),
        // These are of a trip, not of contacts.
        ExportFormat::Segments => {
            bail!("name one trip, and no contacts: export --format segments --trip TRIP")
        }
    };
    let folder = out.parent().filter(|folder| !folder.as_os_str().is_empty());
    clear_unfinished(folder.unwrap_or(Path::new(".")));
    write_durably(out, text.as_bytes())?;
    Ok(doubts)
}
