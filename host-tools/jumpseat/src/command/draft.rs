//! `jumpseat draft`.

use std::path::{Path, PathBuf};

use anyhow::{Result, bail};
use clap::Args;
use jumpseat_draft::UnansweredReason;
use jumpseat_entries::DraftKind;
use jumpseat_files::{write_durably, write_private};
use jumpseat_logbook::{EntryFilter, StoredDrafts};
use jumpseat_trip::Trip;
use jumpseat_values::display::{count, length};

use super::entries;
use crate::drafting::{DraftDocument, DraftedTrip};
use crate::duplicates;
use crate::home::HomeFolder;
use crate::outcome::CommandOutcome;
use crate::print;

#[derive(Debug, Args)]
pub(crate) struct DraftCommand {
    /// The trip: its folder, its name in the library, or only its number
    trip: String,
    /// Also write the draft as JSON; "-" writes to standard output instead of the table
    #[arg(long, value_name = "FILE")]
    json: Option<PathBuf>,
    /// Also write what the draft was made from as JSON: overs, speech, marks, dial, what was heard
    #[arg(long, value_name = "FILE")]
    heard: Option<PathBuf>,
}

impl DraftCommand {
    pub(super) fn run(self, home: &HomeFolder) -> Result<CommandOutcome> {
        let trip = home.open_trip_to_log(&self.trip)?;
        if trip.is_kept_in_part() {
            bail!(
                "{} was reduced to the sound of confirmed contacts; drafting it again finds nothing \
                 new. Its entries are in the logbook",
                trip.id()
            );
        }
        draft(home, &trip, self.json.as_deref(), self.heard.as_deref())
    }
}

/// Drafts a trip into the logbook and prints the table.
pub(crate) fn draft(
    home: &HomeFolder,
    trip: &Trip,
    json: Option<&Path>,
    heard: Option<&Path>,
) -> Result<CommandOutcome> {
    // Open it first, so that an hour of listening does not end with a logbook that cannot be
    // written.
    let mut logbook = home.logbook()?;
    let drafting = DraftedTrip::draft(trip, home, &logbook)?;
    write_private(
        &home.heard_drive_file(trip.id()),
        &serde_json::to_vec(&drafting.drive)?,
    )?;
    if let Some(path) = heard {
        write_durably(path, serde_json::to_string(&drafting.drive)?.as_bytes())?;
    }
    let stored = logbook.store_drafts(trip.id(), &drafting.drafts)?;
    let entries = logbook.entries(&EntryFilter::Trip(trip.id()))?;
    drafting.store_transcript(trip, home)?;
    let pairs = duplicates::duplicates_by_number(
        &logbook,
        &entries,
        home.station()?.duplicate_window(None),
    )?;
    let doubtful = !drafting.doubts.is_empty()
        || !pairs.is_empty()
        || entries.iter().any(|entry| !entry.open_doubts().is_empty());
    if let Some(path) = json {
        let document = DraftDocument::new(trip.id(), &drafting, &stored.numbers, &entries, &pairs);
        if path == Path::new("-") {
            print::json(&document)?;
            return Ok(CommandOutcome::doubtful(doubtful));
        }
        let mut text = serde_json::to_string_pretty(&document)?;
        text.push('\n');
        write_durably(path, text.as_bytes())?;
    }
    print::line(&summary(trip, &drafting))?;
    for doubt in &drafting.doubts {
        print::line(&format!("  doubt: {doubt}"))?;
    }
    for line in changes(&stored) {
        print::line(&line)?;
    }
    if entries.is_empty() {
        print::line("No contact was found, so the logbook is unchanged.")?;
        return Ok(CommandOutcome::doubtful(doubtful));
    }
    print::line("")?;
    print::text(&entries::table(&entries, &pairs))?;
    print::line("")?;
    for line in entries::legend(&entries) {
        print::line(line)?;
    }
    let open = entries
        .iter()
        .find(|entry| entry.contact.is_none() && !entry.is_no_contact())
        .map(|entry| entry.number);
    if let Some(number) = open {
        print::line("Next: listen and decide in the browser,")?;
        print::line(&format!("  {} review {}", home.command(), trip.id()))?;
        print::line(
            "or type what you heard, with the call sign for CALL and the reports for RST:",
        )?;
        print::line(&format!(
            "  {} confirm {number} --call CALL --sent RST --received RST",
            home.command()
        ))?;
    }
    Ok(CommandOutcome::doubtful(doubtful))
}

fn summary(trip: &Trip, drafting: &DraftedTrip) -> String {
    let of = |kind: DraftKind| {
        drafting
            .drafts
            .iter()
            .filter(|draft| draft.kind == kind)
            .count()
    };
    let calls = |why: UnansweredReason| {
        let calls = drafting.assembly.unanswered.iter();
        calls.filter(|call| call.why == why).count()
    };
    let mut parts = vec![count(of(DraftKind::Contact), "contact", "contacts")];
    let mut add = |number: usize, one: &str, many: &str| {
        if number > 0 {
            parts.push(count(number, one, many));
        }
    };
    add(of(DraftKind::Look), "mark to look at", "marks to look at");
    add(
        calls(UnansweredReason::NoAnswer),
        "unanswered call",
        "unanswered calls",
    );
    add(
        calls(UnansweredReason::NotPursued),
        "call without an exchange",
        "calls without an exchange",
    );
    format!(
        "{}, {} long: {}",
        trip.id(),
        length(drafting.drive.length_s),
        parts.join(", ")
    )
}

/// What changed since an earlier draft.
fn changes(stored: &StoredDrafts) -> Vec<String> {
    let list = |numbers: &[i64]| {
        let numbers: Vec<String> = numbers.iter().map(ToString::to_string).collect();
        numbers.join(", ")
    };
    let mut lines = Vec::new();
    let old = stored.numbers.len() > stored.added.len() || !stored.removed.is_empty();
    if old && !stored.added.is_empty() {
        lines.push(format!(
            "  new since the last draft: {}",
            list(&stored.added)
        ));
    }
    if !stored.changed.is_empty() {
        lines.push(format!(
            "  changed since the last draft: {}",
            list(&stored.changed)
        ));
    }
    if !stored.removed.is_empty() {
        lines.push(format!(
            "  no longer found and removed: {}",
            list(&stored.removed)
        ));
    }
    if !stored.kept.is_empty() {
        lines.push(format!(
            "  no longer found but kept, because you confirmed it: {}",
            list(&stored.kept)
        ));
    }
    lines
}
