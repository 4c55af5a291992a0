//! Drafts the contacts of a trip: listens to it, assembles contacts, and adds time and place.

mod document;
mod hear;
mod kept_hearings;
mod listen;
mod resolve;
mod transcribe;

use anyhow::Result;
use jumpseat_draft::{AssemblyInput, DraftAssembly, DraftRules, assemble};
use jumpseat_entries::{Draft, Entry};
use jumpseat_files::write_private;
use jumpseat_logbook::Logbook;
use jumpseat_trip::{DamageSeverity, Trip};
use jumpseat_values::{Doubt, RecordingDoubt, StationDoubt};
use std::collections::BTreeSet;

use crate::home::HomeFolder;

pub(crate) use document::DraftDocument;
use kept_hearings::HearTask;

/// Everything that is drafted from a trip.
pub(crate) struct DraftedTrip {
    /// The entries in the order of time.
    pub(crate) drafts: Vec<Draft>,
    /// What was assembled, with the calls that became no contact.
    pub(crate) assembly: DraftAssembly,
    /// Doubts about the trip as a whole.
    pub(crate) doubts: Vec<Doubt>,
    /// What the entries were assembled from.
    pub(crate) drive: AssemblyInput,
    /// The sound of each over.
    tasks: Vec<HearTask>,
}

impl DraftedTrip {
    /// Drafts a trip for a home. Reads its audio and stores what was heard in the home. The
    /// logbook shows which stations were worked before.
    pub(crate) fn draft(trip: &Trip, home: &HomeFolder, logbook: &Logbook) -> Result<Self> {
        let mut heard = listen::listen(trip, &home.station()?.own(), &home.heard())?;
        heard.drive.worked = worked(&heard.drive, logbook)?;
        let assembly = assemble(&heard.drive, &DraftRules::default());
        let drafts = resolve::resolve(trip, &heard.drive, &assembly);
        let mut doubts: Vec<Doubt> = trip
            .damage()
            .iter()
            .filter(|damage| damage.severity() == DamageSeverity::Loss)
            .map(|damage| Doubt::Other(damage.to_string()))
            .collect();
        doubts.extend(heard.doubts);
        doubts.extend(assembly.doubts.iter().cloned());
        if heard.drive.own.is_none() {
            let file = home.station_file().display().to_string();
            let doubt = match assembly.taken_for_own.clone() {
                Some(sign) => StationDoubt::OwnCallTaken { file, sign },
                None => StationDoubt::OwnCallUnknown { file },
            };
            doubts.push(doubt.into());
        }
        if heard.drive.broke_off {
            doubts.push(RecordingDoubt::BrokeOff.into());
        }
        Ok(Self {
            drafts,
            assembly,
            doubts,
            drive: heard.drive,
            tasks: heard.tasks,
        })
    }

    /// Writes down what was said in the overs of the trip's entries, and stores it in the home.
    /// Reads their audio; doubts about those that could not be heard are added to the others.
    pub(crate) fn transcribe(
        &mut self,
        trip: &Trip,
        home: &HomeFolder,
        entries: &[Entry],
    ) -> Result<()> {
        let drafts: Vec<&Draft> = entries.iter().filter_map(|e| e.draft.as_ref()).collect();
        let overs = self.drive.overs.iter().zip(&self.tasks);
        let (transcript, doubts) = transcribe::transcribe(trip, overs, &drafts, &home.heard())?;
        self.doubts.extend(doubts.into_iter().map(Doubt::Other));
        let file = home.transcript_file(trip.id());
        write_private(&file, &serde_json::to_vec(&transcript)?)?;
        Ok(())
    }
}

/// The call signs that may have been heard and are in the logbook.
fn worked(drive: &AssemblyInput, logbook: &Logbook) -> Result<Vec<String>> {
    let heard = drive.overs.iter().filter_map(|over| over.heard.as_ref());
    let signs: BTreeSet<&String> = heard
        .flat_map(|heard| &heard.signs)
        .flat_map(|sign| sign.candidates.iter().map(|(text, _)| text))
        .collect();
    let mut worked = Vec::new();
    for sign in signs {
        if logbook.worked_before(sign)?.is_some() {
            worked.push(sign.clone());
        }
    }
    Ok(worked)
}
