//! A trip becomes drafts: listened to, assembled, and put in time and place.

mod area;
mod document;
mod hear;
mod listen;
mod place;
mod resolve;

use anyhow::Result;
use jumpseat_draft::{AssemblyInput, DraftAssembly, DraftRules, assemble};
use jumpseat_entries::Draft;
use jumpseat_logbook::Logbook;
use jumpseat_trip::{DamageSeverity, Trip};
use std::collections::BTreeSet;

use crate::home::HomeFolder;
use crate::station;

pub(crate) use document::DraftDocument;

/// All that is drafted from a trip.
pub(crate) struct DraftedTrip {
    /// Entries in order of time.
    pub(crate) drafts: Vec<Draft>,
    /// Calls that became no contact.
    pub(crate) assembly: DraftAssembly,
    /// Doubts about the trip as a whole.
    pub(crate) doubts: Vec<String>,
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
        let mut doubts: Vec<String> = trip
            .damage()
            .iter()
            .filter(|damage| damage.severity() == DamageSeverity::Loss)
            .map(ToString::to_string)
            .collect();
        doubts.extend(heard.doubts);
        doubts.extend(assembly.doubts.iter().map(ToString::to_string));
        if heard.drive.own.is_none() {
            let unknown = station::own_call_unknown(&home.station_file());
            doubts.push(match &assembly.taken_for_own {
                Some(sign) => format!("{unknown}. {sign} was taken for it: you keep saying it"),
                None => unknown,
            });
        }
        if heard.drive.broke_off {
            doubts.push(
                "the recording was not ended in order: the power went, or it is still running"
                    .into(),
            );
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
