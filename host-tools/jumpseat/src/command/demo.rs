//! `jumpseat demo`: every step of an evening, with a simulated drive.

use std::path::{Path, PathBuf};
use std::time::Duration;

use anyhow::Result;
use clap::Args;
use jumpseat_entries::{ContactField, Edits, Entry};
use jumpseat_logbook::EntryFilter;
use jumpseat_pull::{PullRequest, pull};
use jumpseat_trip::Trip;

use super::confirm::confirm;
use super::draft::draft;
use super::pull::{PullDisplay, print_report, with_advice};
use crate::demo::{DemoTruth, SpokenContact, check_demo_folder, unpack};
use crate::duplicates::DuplicatesByNumber;
use crate::export::{ExportFormat, ExportSelection, export};
use crate::home::HomeFolder;
use crate::outcome::CommandOutcome;
use crate::print;
use crate::system;

/// The folder of the demo's card, by which the folder of a demo is recognised.
const CARD: &str = "card";

#[derive(Debug, Args)]
pub(crate) struct DemoCommand {
    /// The folder to work in; your own library and logbook are not touched
    #[arg(long, value_name = "DIR", default_value = "jumpseat-demo")]
    into: PathBuf,
}

impl DemoCommand {
    pub(super) fn run(self) -> Result<CommandOutcome> {
        let into = &self.into;
        check_demo_folder(into, CARD)?;
        let home = HomeFolder::new(Some(into.join("home")))?;

        step("1. The card from the car, with a simulated drive on it")?;
        let (trip, truth) = unpack(&into.join(CARD))?;
        print::line(&format!("{}", trip.display()))?;

        step("2. Pull: copy it into the library and verify every file")?;
        let request = PullRequest {
            source: &trip.to_string_lossy(),
            library: &home.trips(),
            verify: false,
            ssh_config: None,
            patience: Duration::from_secs(60),
            at_most: u64::MAX,
        };
        let mut reports = Vec::new();
        pull(&request, &PullDisplay::new(false), &mut reports)
            .map_err(|error| with_advice(error, &home.command()))?;
        reports.iter().try_for_each(print_report)?;

        step("3. Draft: find the contacts")?;
        let name = jumpseat_files::file_name(&trip);
        let trip = home.open_trip(&name)?;
        draft(&home, &trip, None, None)?;

        step("4. Confirm: enter what was heard")?;
        print::text(
            "This is where you listen. The demo cannot, so it takes what was really said from\n\
             the script of the drive. You would type\n",
        )?;
        print::line(&format!("  {} ...", home.command()))?;
        let missed = speak_for_the_person(&home, trip.id(), &truth)?;

        step("5. Export: the confirmed contacts for another program")?;
        let adif = into.join("contacts.adi");
        export(
            &home,
            ExportFormat::Adif,
            &ExportSelection::trip(trip.id()),
            &adif,
            false,
        )?;

        step("Where everything is, and what to do next")?;
        print::text(&pointers(&home, &trip, &adif)?)?;
        Ok(CommandOutcome::doubtful(missed))
    }
}

fn step(title: &str) -> Result<()> {
    print::line("")?;
    print::line(&format!("== {title}"))
}

/// Confirms each contact with what was said on the drive. Returns true when the draft missed
/// one.
fn speak_for_the_person(home: &HomeFolder, trip: &str, truth: &DemoTruth) -> Result<bool> {
    let entries = home.logbook()?.entries(&EntryFilter::Trip(trip))?;
    let mut missed = false;
    for spoken in &truth.contacts {
        let Some(entry) = entries.iter().find(|entry| is(entry, spoken)) else {
            print::line(&format!(
                "there was a contact with {}, but the draft missed it",
                spoken.call
            ))?;
            missed = true;
            continue;
        };
        let mut words = format!("confirm {}", entry.number);
        let mut said = Edits::new();
        for (word, value) in [
            (ContactField::Call, Some(&spoken.call)),
            (ContactField::Sent, spoken.sent.as_ref()),
            (ContactField::Received, spoken.received.as_ref()),
            (ContactField::Name, spoken.name.as_ref()),
        ] {
            if let Some(value) = value {
                words.push_str(&format!(" --{} {value}", word.key()));
                said.insert(word, value.clone());
            }
        }
        print::line(&format!("  {words}"))?;
        for doubt in confirm(home, entry.number, &said)? {
            print::line(&format!("  doubt: {doubt}"))?;
        }
    }
    print::line("")?;
    let entries = home.logbook()?.entries(&EntryFilter::Trip(trip))?;
    print::text(&super::entries::table(&entries, &DuplicatesByNumber::new()))?;
    Ok(missed)
}

/// Whether the draft and the spoken contact were at the same time.
fn is(entry: &Entry, spoken: &SpokenContact) -> bool {
    entry
        .draft
        .as_ref()
        .is_some_and(|draft| draft.on_s < spoken.off_s && spoken.on_s < draft.off_s)
}

fn shown(path: &Path) -> String {
    print::visible(&path.to_string_lossy()).into_owned()
}

fn pointers(home: &HomeFolder, trip: &Trip, adif: &Path) -> Result<String> {
    let entries = home.logbook()?.entries(&EntryFilter::Trip(trip.id()))?;
    let answer = entries
        .iter()
        .filter_map(|entry| entry.draft.as_ref())
        .flat_map(|draft| &draft.overs)
        .find(|over| over.direction == "rx")
        .and_then(|over| over.segments.first());
    let listen = trip
        .segments()
        .iter()
        .find(|segment| Some(&segment.number) == answer)
        .map(|segment| format!("listen   {}\n", shown(&segment.path)))
        .unwrap_or_default();
    let (command, program) = (home.command(), system::program());
    let (command, program) = (print::visible(&command), print::visible(&program));
    let adif = shown(adif);
    Ok(format!(
        "{listen}\
         review   {command} review 1     (the same in the browser, with sound; Ctrl-C ends it)\n\
         log      {command} log\n\
         correct  {command} confirm 1 --call KB0QSE --sent 58\n\
         export   {adif}: import it into your log program\n\n\
         With a drive of your own (the card, or a copy of the board's trips folder):\n\
         \x20 {program} arrive FOLDER          (pulls, drafts, opens the review page)\n\
         \x20 {program} export --format adif\n"
    ))
}
