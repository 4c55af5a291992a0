//! A trip becomes drafts: listened to, assembled, and put in time and place.

mod document;
mod hear;
mod listen;
mod resolve;

use anyhow::Result;
use jumpseat_draft::{AssemblyInput, DraftAssembly, DraftRules, assemble};
use jumpseat_entries::Draft;
use jumpseat_logbook::Logbook;
use jumpseat_trip::{DamageSeverity, Trip};
use jumpseat_values::{Doubt, RecordingDoubt, StationDoubt};
use std::collections::BTreeSet;

use crate::home::HomeFolder;

pub(crate) use document::DraftDocument;

/// All that is drafted from a trip.
pub(crate) struct DraftedTrip {
    /// Entries in order of time.
    pub(crate) drafts: Vec<Draft>,
    /// Calls that became no contact.
    pub(crate) assembly: DraftAssembly,
    /// Doubts about the trip as a whole.
    pub(crate) doubts: Vec<Doubt>,
    /// What the entries were made of.
    pub(crate) drive: AssemblyInput,
}

impl DraftedTrip {
    /// Drafts a trip for a home. Reads its audio; keeps what was heard there. The logbook
    /// says who was worked before.
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
        doubts.extend(
            assembly
                .doubts
                .iter()
                .map(|doubt| Doubt::read(&doubt.to_string())),
        );
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
        })
    }
}

/// Those of the call signs that may have been heard that stand in the logbook.
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
