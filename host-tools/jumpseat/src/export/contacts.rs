//! Writes the contacts that a person chose, and records in the logbook that they were
//! exported.

use std::path::Path;

use anyhow::{Context as _, Result, bail};
use chrono::Utc;
use jumpseat_entries::{Contact, Entry, OwnStation, likely_contact};
use jumpseat_files::{clear_unfinished, full_path, write_durably};
use jumpseat_formats::{adif, gpx, table_csv};
use jumpseat_logbook::{EntryFilter, EntrySearch, Logbook, NewExport};

use super::report::{ExportReport, join_numbers};
use super::selection::{ExportFormat, ExportScope, ExportSelection};
use super::software::{PROGRAM, VERSION};
use super::{clips, tracks};
use crate::home::HomeFolder;
use crate::outcome::CommandOutcome;
use crate::print;
use crate::station;

/// The comment of a draft in every file.
const DRAFT_COMMENT: &str = "draft, not confirmed";

/// Exports the chosen contacts and prints what was done.
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
        report.print()?;
    }
    Ok(CommandOutcome::doubtful(!report.doubts.is_empty()))
}

/// Exports the chosen contacts, and prints nothing.
pub(crate) fn write_export(
    home: &HomeFolder,
    format: ExportFormat,
    selection: &ExportSelection,
    out: &Path,
) -> Result<ExportReport> {
    match home.logbook_if_any()? {
        Some(mut logbook) => write_entries(home, &mut logbook, format, selection, out),
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

fn write_entries(
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
        let whole = full_path(out)
            .with_context(|| format!("cannot find {} after it was written", out.display()))?;
        // A draft can change until it is confirmed, so it does not count as exported.
        let sent: Vec<(i64, i64)> = entries
            .iter()
            .filter(|entry| confirmed.contains(&entry.number))
            .map(|entry| (entry.number, entry.revision))
            .collect();
        logbook.record_export(&NewExport {
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

/// Fills in the own call sign where a contact was confirmed before it was known. Returns the
/// doubt about contacts that still have none.
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
            join_numbers(&nameless),
            station::own_call_unknown(&home.station_file())
        )
    }))
}

fn numbers(entries: &[Entry], which: impl Fn(&Entry) -> bool) -> Vec<i64> {
    let chosen = entries.iter().filter(|entry| which(entry));
    chosen.map(|entry| entry.number).collect()
}

/// A draft as if it were confirmed; its comment says that it is not.
fn as_contact(entry: &Entry, own: &OwnStation) -> Contact {
    let mut contact = likely_contact(entry, own, &mut Vec::new());
    contact.comment = Some(match contact.comment {
        Some(remark) => format!("{DRAFT_COMMENT}; {remark}"),
        None => DRAFT_COMMENT.to_owned(),
    });
    contact
}

/// Why nothing was written, and what to do.
fn nothing(home: &HomeFolder, selection: &ExportSelection, word: &str, confirmed: u64) -> String {
    let command = home.command();
    match (&selection.which, confirmed) {
        (_, 0) => format!(
            "Nothing to export: no contact is confirmed yet. In `{command} review` you can listen \
             to them and confirm them"
        ),
        (ExportScope::New, _) => format!(
            "Nothing to export: all confirmed contacts were exported as {word} before. --all or \
             --trip TRIP writes them again"
        ),
        _ => format!(
            "Nothing to export: none of the chosen contacts is confirmed. `{command} log` lists \
             all"
        ),
    }
}

/// Writes the file or folder. Removes the entries that could not be written, and returns the
/// doubts.
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
            let (tracks, mut doubts) = tracks::tracks_of(home, entries);
            let written = gpx::write(&contacts, &tracks, PROGRAM, now);
            let placeless = written.placeless.iter();
            doubts.extend(
                placeless.map(|index| about(*index, "no waypoint: its place is not known")),
            );
            (written.text, doubts)
        }
        ExportFormat::Clips => return clips::write(home, entries, out),
        // The command line refuses this.
        ExportFormat::Segments => {
            bail!("segments are of one trip, not of contacts: export --format segments --trip TRIP")
        }
    };
    let folder = out.parent().filter(|folder| !folder.as_os_str().is_empty());
    clear_unfinished(folder.unwrap_or(Path::new(".")));
    write_durably(out, text.as_bytes())?;
    Ok(doubts)
}
