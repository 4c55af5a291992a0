//! The judged drives as tables for people.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use super::judgement::{JudgedContact, JudgedDrive, JudgedField, MissedReason, SURE};
use super::verdict::FieldVerdict;
use crate::written::WrittenKind;

/// The tables of a group of drives, in Markdown. They show no word that was spoken, and no
/// place where one stands: whoever changes the draft may read them.
pub fn judgement_page(name: &str, drives: &[JudgedDrive]) -> String {
    let contacts: Vec<&JudgedContact> = drives.iter().flat_map(|drive| &drive.contacts).collect();
    let hours: f64 = drives.iter().map(|drive| drive.hours).sum();
    let written: BTreeSet<&str> = drives
        .iter()
        .flat_map(|drive| drive.conversations.iter().map(|one| one.place.as_str()))
        .collect();
    let invented: usize = drives
        .iter()
        .flat_map(|drive| drive.conversations.iter().map(|one| one.invented))
        .sum();
    let missed = |reason| {
        contacts
            .iter()
            .filter(|one| one.missed == Some(reason))
            .count()
    };
    let found = contacts.iter().filter(|one| one.missed.is_none()).count();
    let (low, high) = interval(found, contacts.len(), conversations(&contacts));
    let mut page = format!("## {name}\n\n");
    // Writing into a String cannot fail.
    let _ = writeln!(
        page,
        "{} drives, {hours:.1} h, {} conversations, {} contacts: found {found} ({}, {low:.0} to {high:.0} %), \
         invented {invented} ({:.2} an hour). Missed: {} with nothing in the draft, {} only to look at, {} under another's entry.\n",
        drives.len(),
        written.len(),
        contacts.len(),
        percent(found, contacts.len()),
        invented as f64 / hours.max(f64::MIN_POSITIVE),
        missed(MissedReason::Nothing),
        missed(MissedReason::ToLookAt),
        missed(MissedReason::Another),
    );
    page.push_str(&fields(&contacts));
    page.push_str(&times(&contacts));
    page.push_str(&calibration(drives));
    page.push_str(&kinds(drives));
    page
}

fn fields(contacts: &[&JudgedContact]) -> String {
    let mut table = "| field | said in | right | 95 % | listed | blank | wrong | wrong at 90 % and more | in a missed contact | made up |\n| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n".to_owned();
    for (field, name, _) in JudgedField::ALL {
        let said: Vec<&JudgedContact> = contacts
            .iter()
            .copied()
            .filter(|one| one.said.contains(&field))
            .collect();
        if said.is_empty() {
            continue;
        }
        let values: Vec<(FieldVerdict, Option<f64>)> = said
            .iter()
            .filter_map(|one| one.fields.get(&field).copied())
            .collect();
        let count = |wanted: FieldVerdict| {
            values
                .iter()
                .filter(|(verdict, _)| *verdict == wanted)
                .count()
        };
        let sure = values.iter().filter(|(verdict, stated)| {
            matches!(verdict, FieldVerdict::Wrong | FieldVerdict::Alternative)
                && stated.is_some_and(|stated| stated >= SURE)
        });
        let right = count(FieldVerdict::Right);
        let (low, high) = interval(right, said.len(), conversations(&said));
        let made_up = contacts
            .iter()
            .filter(|one| one.made_up.contains(&field))
            .count();
        let _ = writeln!(
            table,
            "| {name} | {} | {} | {low:.0} to {high:.0} | {} | {} | {} | {} | {} | {made_up} |",
            said.len(),
            percent(right, said.len()),
            count(FieldVerdict::Alternative),
            count(FieldVerdict::Blank),
            count(FieldVerdict::Wrong),
            sure.count(),
            said.iter().filter(|one| one.missed.is_some()).count(),
        );
    }
    table
}

fn times(contacts: &[&JudgedContact]) -> String {
    let mut late: Vec<f64> = contacts
        .iter()
        .filter_map(|one| one.on_error_s)
        .map(f64::abs)
        .collect();
    let mut away: Vec<f64> = contacts
        .iter()
        .filter_map(|one| one.place_error_m)
        .collect();
    late.sort_by(f64::total_cmp);
    away.sort_by(f64::total_cmp);
    let within = late.iter().filter(|error| **error <= 2.0).count();
    let median = |sorted: &[f64]| {
        sorted
            .get(sorted.len() / 2)
            .map_or("?".to_owned(), |value| format!("{value:.0}"))
    };
    format!(
        "\nStart: {} within 2 s, {} s off in the median; place: {} m off in the median.\n",
        percent(within, late.len()),
        median(&late),
        median(&away)
    )
}

/// What is stated of call signs against what was right.
fn calibration(drives: &[JudgedDrive]) -> String {
    let stated: Vec<(f64, bool)> = drives
        .iter()
        .flat_map(|drive| drive.stated.iter().copied())
        .collect();
    let mut table =
        "\n| call sign stated at | count | mean | right |\n| --- | --- | --- | --- |\n".to_owned();
    let mut off = 0.0;
    for (low, high) in [
        (0.0, 0.3),
        (0.3, 0.5),
        (0.5, 0.7),
        (0.7, 0.9),
        (0.9, 0.97),
        (0.97, 1.01),
    ] {
        let here: Vec<&(f64, bool)> = stated
            .iter()
            .filter(|(said, _)| (low..high).contains(said))
            .collect();
        if here.is_empty() {
            continue;
        }
        let mean = here.iter().map(|(said, _)| said).sum::<f64>() / here.len() as f64;
        let right = here.iter().filter(|(_, right)| *right).count() as f64 / here.len() as f64;
        off += here.len() as f64 * (mean - right).abs();
        let _ = writeln!(
            table,
            "| {:.0} to {:.0} % | {} | {:.0} % | {:.0} % |",
            100.0 * low,
            100.0 * high.min(1.0),
            here.len(),
            100.0 * mean,
            100.0 * right
        );
    }
    let _ = writeln!(
        table,
        "\nExpected calibration error {:.3}.",
        off / stated.len().max(1) as f64
    );
    table
}

fn kinds(drives: &[JudgedDrive]) -> String {
    let mut rows: BTreeMap<&str, (Vec<&JudgedContact>, BTreeSet<&str>, usize)> = BTreeMap::new();
    for drive in drives {
        for conversation in &drive.conversations {
            for kind in &conversation.kinds {
                let row = rows.entry(kind).or_default();
                row.1.insert(&conversation.place);
                row.2 += conversation.invented;
            }
        }
        for contact in &drive.contacts {
            for kind in &contact.kinds {
                rows.entry(kind).or_default().0.push(contact);
            }
        }
    }
    let mut table = "\n| what occurs | conversations | contacts | found | sign right | 95 % | received right of said | name right of said | invented |\n| --- | --- | --- | --- | --- | --- | --- | --- | --- |\n".to_owned();
    for (kind, (contacts, places, invented)) in rows {
        let right = |field: JudgedField| {
            let held = contacts.iter().filter_map(|one| one.fields.get(&field));
            held.filter(|(verdict, _)| *verdict == FieldVerdict::Right)
                .count()
        };
        let said = |field: JudgedField| {
            contacts
                .iter()
                .filter(|one| one.said.contains(&field))
                .count()
        };
        let signs = right(JudgedField::Sign);
        let (low, high) = interval(signs, contacts.len(), conversations(&contacts));
        let _ = writeln!(
            table,
            "| {} | {} | {} | {} | {signs} | {low:.0} to {high:.0} | {} of {} | {} of {} | {invented} |",
            WrittenKind::named(kind).map_or(kind, |known| known.meaning()),
            places.len(),
            contacts.len(),
            contacts.iter().filter(|one| one.missed.is_none()).count(),
            right(JudgedField::Received),
            said(JudgedField::Received),
            right(JudgedField::Name),
            said(JudgedField::Name),
        );
    }
    table
}

/// How many conversations these contacts are of.
fn conversations(contacts: &[&JudgedContact]) -> usize {
    let places: BTreeSet<&str> = contacts.iter().map(|one| one.place.as_str()).collect();
    places.len()
}

fn percent(part: usize, whole: usize) -> String {
    if whole == 0 {
        return "none".to_owned();
    }
    format!("{:.0} %", 100.0 * part as f64 / whole as f64)
}

/// The 95 % interval of a share, in percent: Wilson's score interval (Wilson, "Probable
/// inference, the law of succession, and statistical inference", 1927). Contacts of one
/// conversation hang together, and a conversation that is spoken again is no new one, so
/// `independent` counts conversations.
fn interval(part: usize, whole: usize, independent: usize) -> (f64, f64) {
    const Z: f64 = 1.96;
    if whole == 0 {
        return (0.0, 100.0);
    }
    let (share, n) = (
        part as f64 / whole as f64,
        independent.clamp(1, whole) as f64,
    );
    let middle = share + Z * Z / (2.0 * n);
    let half = Z * (share * (1.0 - share) / n + Z * Z / (4.0 * n * n)).sqrt();
    let scale = 100.0 / (1.0 + Z * Z / n);
    (
        scale * (middle - half).max(0.0),
        scale * (middle + half).min(1.0 + Z * Z / n),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn intervals_are_wilsons() {
        // 10 of 20: 0.299 to 0.701; 0 of 10: 0 to 0.278 (Brown, Cai and DasGupta, "Interval
        // estimation for a binomial proportion", 2001, have the formula).
        for (part, whole, independent, expected) in [
            (10, 20, 20, (29.9, 70.1)),
            (0, 10, 10, (0.0, 27.8)),
            (20, 40, 20, (29.9, 70.1)),
        ] {
            let (low, high) = interval(part, whole, independent);
            assert!(
                (low - expected.0).abs() < 0.1 && (high - expected.1).abs() < 0.1,
                "{low} {high}"
            );
        }
    }

    #[test]
    fn a_page_counts_what_was_said_found_and_missed() {
        let contact = |missed, verdict| {
            let found = if missed {
                None
            } else {
                Some((verdict, Some(0.95)))
            };
            JudgedContact {
                place: "hand/file.txt:1".to_owned(),
                kinds: BTreeSet::from(["run".to_owned()]),
                missed: missed.then_some(MissedReason::ToLookAt),
                fields: found
                    .into_iter()
                    .map(|value| (JudgedField::Sign, value))
                    .collect(),
                said: BTreeSet::from([JudgedField::Sign]),
                made_up: BTreeSet::new(),
                on_error_s: (!missed).then_some(1.0),
                place_error_m: None,
            }
        };
        let drive = JudgedDrive {
            hours: 1.0,
            contacts: vec![
                contact(false, FieldVerdict::Right),
                contact(false, FieldVerdict::Wrong),
                contact(true, FieldVerdict::Blank),
            ],
            conversations: Vec::new(),
            stated: vec![(0.95, true), (0.95, false)],
        };
        let page = judgement_page("road", &[drive]);
        for line in [
            "3 contacts: found 2 (67 %",
            "1 only to look at",
            "| sign | 3 | 33 % |",
            "| 90 to 97 % | 2 | 95 % | 50 % |",
            "| several callers, one after the other | 0 | 3 | 2 | 1 |",
            "Start: 100 % within 2 s",
        ] {
            assert!(page.contains(line), "{line}\n{page}");
        }
        assert!(!page.contains("hand/"), "{page}");
    }
}
