//! Drafts the contacts of a trip: listens to it, assembles contacts, and adds time and place.

mod document;
mod hear;
mod kept_hearings;
mod listen;
mod resolve;
mod transcribe;

use anyhow::Result;
use jumpseat_draft::{AssemblyInput, DraftAssembly, DraftRules, assemble};
use jumpseat_entries::{Draft, TripTranscript};
use jumpseat_files::write_private;
use jumpseat_logbook::{EntryFilter, Logbook};
use jumpseat_trip::{DamageSeverity, Trip};
use jumpseat_values::{Doubt, RecordingDoubt, StationDoubt};
use std::collections::BTreeSet;

use crate::home::HomeFolder;

pub(crate) use document::DraftDocument;

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
    /// What was said in the overs of the trip's entries.
    transcript: TripTranscript,
}

impl DraftedTrip {
    /// Drafts a trip for a home. Reads its audio and stores what was heard in the home. The
    /// logbook shows which stations were worked before, and the trip's earlier entries.
    ///
    /// Assembles twice: which overs belong to entries is known without their text, and what
    /// was said in them is known with it.
    pub(crate) fn draft(trip: &Trip, home: &HomeFolder, logbook: &Logbook) -> Result<Self> {
        let mut heard = listen::listen(trip, &home.station()?.own(), &home.heard())?;
        heard.drive.worked = worked(&heard.drive, logbook)?;
        let rules = DraftRules::default();
        let found = assemble(&heard.drive, &rules);
        let mut spoken = resolve::resolve(trip, &heard.drive, &found);
        // Entries that a person confirmed or shaped stay as they are, and their overs, too.
        let earlier = logbook.entries(&EntryFilter::Trip(trip.id()))?;
        spoken.extend(earlier.into_iter().filter_map(|entry| entry.draft));
        let overs = heard.drive.overs.iter().zip(&heard.tasks);
        let written = transcribe::transcribe(trip, overs, &spoken, &home.heard())?;
        heard.doubts.extend(written.doubts.iter().cloned());
        written.give_to(&mut heard.drive);
        let assembly = assemble(&heard.drive, &rules);
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
            transcript: written.into_transcript(),
        })
    }

    /// Stores what was said in the overs of the trip's entries in the home.
    pub(crate) fn store_transcript(&self, trip: &Trip, home: &HomeFolder) -> Result<()> {
        let file = home.transcript_file(trip.id());
        write_private(&file, &serde_json::to_vec(&self.transcript)?)?;
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
