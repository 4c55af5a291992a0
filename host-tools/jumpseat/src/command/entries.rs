//! Prints entries of the logbook as a table.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use jumpseat_entries::{ContactField, DraftKind, Entry};
use jumpseat_values::display::{length, megahertz, nearest_second, percent};

use crate::duplicates::{DuplicatePair, DuplicatesByNumber};
use crate::table::TextTable;

const HEADING: [&str; 10] = [
    "No", "UTC", "Length", "MHz", "Call", "Name", "S/R", "Locator", "Area", "Doubts",
];
/// Columns that are left out on a narrow terminal: the area, because the locator shows the
/// place too, and the name, which is left out first if no entry has one.
const NAME: usize = 5;
const AREA: usize = 8;
/// Longer names are cut, so that one of them does not make the column too wide.
const MAX_NAME_CHARS: usize = 12;
const CUT: &str = "...";
/// Shown for an unknown value.
const UNKNOWN: &str = "-";

/// Lines that belong below entries, by their numbers.
pub(super) type LinesByNumber = BTreeMap<i64, Vec<String>>;

/// Entries in order, under a line for every day, with what may be the same contact.
pub(super) fn table(entries: &[Entry], pairs: &DuplicatesByNumber) -> String {
    table_with_lines(entries, pairs, &LinesByNumber::new())
}

/// As [`table`], with further lines below the entries.
pub(super) fn table_with_lines(
    entries: &[Entry],
    pairs: &DuplicatesByNumber,
    lines: &LinesByNumber,
) -> String {
    let rows: Vec<Vec<String>> = entries.iter().map(|entry| cells(entry, pairs)).collect();
    let named = rows.iter().any(|row| row[NAME] != UNKNOWN);
    let spare = if named { [AREA, NAME] } else { [NAME, AREA] };
    let mut table = TextTable::new(&HEADING).spare(&spare);
    let mut day: Option<String> = None;
    for (entry, row) in entries.iter().zip(rows) {
        let today = day_of(entry);
        if day.as_ref() != Some(&today) {
            table.across(today.clone());
            day = Some(today);
        }
        table.row(row);
        for line in lines.get(&entry.number).into_iter().flatten() {
            table.under(line);
        }
    }
    table.text()
}

/// Explains the signs that occur in the table.
pub(super) fn legend(entries: &[Entry]) -> Vec<&'static str> {
    let drafts = || entries.iter().filter_map(|entry| entry.draft.as_ref());
    let mut lines = Vec::new();
    if drafts().any(|draft| !draft.marks_s.is_empty()) {
        lines.push("*  you pressed the mark button");
    }
    if drafts().any(|draft| draft.kind == DraftKind::Look) {
        lines.push("?  not recognised as a contact; look at it");
    }
    if entries.iter().any(Entry::is_no_contact) {
        lines.push("x  no contact: you rejected it");
    }
    if entries.iter().any(|entry| entry.contact.is_some()) {
        lines.push("+  confirmed");
    }
    lines
}

fn day_of(entry: &Entry) -> String {
    match on(entry) {
        Some(on) => on.format("%Y-%m-%d").to_string(),
        None => match &entry.trip {
            Some(trip) => format!("{trip}, date not known: seconds of the trip"),
            None => "date not known".to_owned(),
        },
    }
}

/// The time to the second, rounded as in an exported file.
fn on(entry: &Entry) -> Option<DateTime<Utc>> {
    entry.on().map(nearest_second)
}

fn cells(entry: &Entry, pairs: &DuplicatesByNumber) -> Vec<String> {
    let mut doubts = entry.open_doubts();
    let found = pairs.get(&entry.number);
    doubts.extend(found.into_iter().flatten().map(DuplicatePair::doubt));
    let (contact, draft) = (entry.contact.as_ref(), entry.draft.as_ref());
    let dash = |value: Option<String>| value.unwrap_or_else(|| UNKNOWN.to_owned());
    let mut number = entry.number.to_string();
    if draft.is_some_and(|draft| !draft.marks_s.is_empty()) {
        number.push('*');
    }
    if draft.is_some_and(|draft| draft.kind == DraftKind::Look) {
        number.push('?');
    }
    if entry.is_no_contact() {
        number.push('x');
    }
    if contact.is_some() {
        number.push('+');
    }
    let begins = match (on(entry), draft) {
        (Some(on), _) if contact.is_some_and(|contact| contact.whole_minutes) => {
            on.format("%H:%M").to_string()
        }
        (Some(on), _) => on.format("%H:%M:%S").to_string(),
        (None, Some(draft)) => format!("+{:.0} s", draft.on_s),
        (None, None) => UNKNOWN.to_owned(),
    };
    let ends = contact.and_then(|contact| contact.off.zip(contact.on));
    let lasts = match (ends, draft) {
        (Some((off, on)), _) => Some((off - on).as_seconds_f64()),
        (None, Some(draft)) => Some(draft.off_s - draft.on_s),
        (None, None) => None,
    };
    let mode = entry.mode();
    // Without a frequency the band is what is known.
    let band = entry.band().map(str::to_owned);
    let dial = entry
        .hz()
        .map(megahertz)
        .or(band)
        .or_else(|| mode.map(|_| UNKNOWN.to_owned()));
    let dial = dial.map(|dial| match mode {
        Some(mode) => format!("{dial} {mode}"),
        None => dial,
    });
    // A draft's call sign has a probability; a contact's is confirmed.
    let sureness = draft.filter(|_| contact.is_none());
    let sureness = sureness.and_then(|draft| draft.call.probability);
    let call = entry.call().map(|call| match sureness {
        Some(probability) => format!("{call} {}%", percent(probability)),
        None => call,
    });
    let heard = |field| dash(entry.heard_text(field));
    let sentences: Vec<String> = doubts.iter().map(ToString::to_string).collect();
    vec![
        number,
        begins,
        dash(lasts.map(length)),
        dash(dial),
        dash(call),
        short(heard(ContactField::Name)),
        format!(
            "{}/{}",
            heard(ContactField::Sent),
            heard(ContactField::Received)
        ),
        dash(entry.locator().map(str::to_owned)),
        dash(entry.area().map(|area| area.short.clone())),
        sentences.join("; "),
    ]
}

fn short(name: String) -> String {
    if name.chars().count() <= MAX_NAME_CHARS {
        return name;
    }
    name.chars()
        .take(MAX_NAME_CHARS - CUT.len())
        .collect::<String>()
        + CUT
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_name_is_cut_and_says_so() {
        for (name, expected) in [
            ("-", "-"),
            ("Ruth", "Ruth"),
            ("Maximilianus", "Maximilianus"),
            ("Jörg-Joachim Müller", "Jörg-Joac..."),
        ] {
            assert_eq!(short(name.to_owned()), expected);
        }
    }
}
