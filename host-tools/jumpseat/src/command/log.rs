//! `jumpseat log`.

use anyhow::Result;
use clap::Args;
use jumpseat_log::Filter;

use super::entries;
use crate::home::Home;
use crate::outcome::Outcome;
use crate::print;
use crate::text::count;

#[derive(Debug, Args)]
pub(crate) struct Log {
    /// Only this trip (its folder, name or number)
    #[arg(long, value_name = "TRIP")]
    trip: Option<String>,
    /// Prints JSON
    #[arg(long)]
    json: bool,
}

impl Log {
    pub(super) fn run(self, home: &Home) -> Result<Outcome> {
        let trip = self.trip.map(|word| home.trip_name(&word)).transpose()?;
        let filter = trip.as_deref().map_or(Filter::All, Filter::Trip);
        let entries = match home.logbook_if_any()? {
            Some(logbook) => logbook.entries(&filter)?,
            None => Vec::new(),
        };
        if self.json {
            print::json(&entries)?;
            return Ok(Outcome::Done);
        }
        if entries.is_empty() {
            print::line(&match &trip {
                Some(trip) => format!(
                    "The logbook has no entry of {trip}. `jumpseat draft {trip}` looks for contacts."
                ),
                None => "The logbook is empty. `jumpseat draft TRIP` fills it.".to_owned(),
            })?;
            return Ok(Outcome::Done);
        }
        print::text(&entries::table(&entries))?;
        print::line("")?;
        for line in entries::legend(&entries) {
            print::line(line)?;
        }
        let confirmed = entries
            .iter()
            .filter(|entry| entry.contact.is_some())
            .count();
        print::line(&format!(
            "{}, {confirmed} confirmed",
            count(entries.len(), "entry", "entries")
        ))?;
        Ok(Outcome::Done)
    }
}
