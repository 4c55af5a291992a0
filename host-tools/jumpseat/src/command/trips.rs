//! `jumpseat trips`.

use std::path::Path;

use anyhow::Result;
use clap::Args;
use jumpseat_logbook::Logbook;
use jumpseat_trip::{AudioDirection, Trip};
use jumpseat_values::display::length;
use jumpseat_values::display::nearest_second;
use serde::Serialize;

use crate::clock;
use crate::home::HomeFolder;
use crate::outcome::CommandOutcome;
use crate::print;
use crate::table::TextTable;
use jumpseat_files::file_name;

#[derive(Debug, Args)]
pub(crate) struct TripsCommand {
    /// Print JSON
    #[arg(long)]
    json: bool,
}

/// A trip of the library.
#[derive(Debug, Serialize)]
struct TripSummary {
    trip: String,
    /// The board's id.
    board: Option<String>,
    /// Who drove, by the board's config.
    operator: Option<String>,
    /// UTC of the first sample, RFC 3339.
    start: Option<String>,
    length_s: f64,
    /// The operator's own overs.
    transmissions: usize,
    marks: usize,
    /// Entries in the logbook, without those that a person rejected, and how many of them are
    /// confirmed.
    entries: u64,
    confirmed: u64,
    /// The damage that was found, or why it cannot be opened.
    trouble: Vec<String>,
}

impl TripsCommand {
    pub(super) fn run(self, home: &HomeFolder) -> Result<CommandOutcome> {
        let logbook = home.logbook_read_only()?;
        let mut lines = Vec::new();
        for folder in home.trip_folders()? {
            lines.push(look(&folder, logbook.as_ref())?);
        }
        let trouble = lines.iter().any(|line| !line.trouble.is_empty());
        if self.json {
            print::json(&lines)?;
        } else if lines.is_empty() {
            print::line(&format!(
                "There is no trip in {} yet. `{} pull FOLDER` copies trips from a card or a folder.",
                home.trips().display(),
                home.command()
            ))?;
        } else {
            print::text(&table(&lines))?;
            for line in &lines {
                print_problems(home, line)?;
            }
        }
        Ok(CommandOutcome::doubtful(trouble))
    }
}

fn look(folder: &Path, logbook: Option<&Logbook>) -> Result<TripSummary> {
    let name = file_name(folder);
    let trip = match Trip::open(folder) {
        Ok(trip) => trip,
        Err(error) => {
            return Ok(TripSummary {
                trip: name,
                board: None,
                operator: None,
                start: None,
                length_s: 0.0,
                transmissions: 0,
                marks: 0,
                entries: 0,
                confirmed: 0,
                trouble: vec![error.to_string()],
            });
        }
    };
    let overs = trip.overs();
    let (entries, confirmed) = match logbook {
        Some(logbook) => logbook.count_of_trip(trip.id())?,
        None => (0, 0),
    };
    let rate = f64::from(trip.header().audio.sample_rate);
    let header = trip.header();
    Ok(TripSummary {
        board: Some(header.board.clone()),
        operator: header.station.operator.clone(),
        start: clock::timeline(&trip)
            .at_sample(0)
            .value
            .map(|utc| nearest_second(utc).format("%Y-%m-%dT%H:%M:%SZ").to_string()),
        length_s: overs.last().map_or(0.0, |over| over.end() as f64 / rate),
        transmissions: overs
            .iter()
            .filter(|over| over.direction == AudioDirection::Tx)
            .count(),
        marks: trip.marks().len(),
        entries,
        confirmed,
        trouble: trip.damage().iter().map(ToString::to_string).collect(),
        trip: name,
    })
}

fn print_problems(home: &HomeFolder, line: &TripSummary) -> Result<()> {
    match line.trouble.as_slice() {
        [] => Ok(()),
        [one] => print::line(&format!("{}: {one}", line.trip)),
        several => print::line(&format!(
            "{}: {} problems; `{} check {}` lists them",
            line.trip,
            several.len(),
            home.command(),
            line.trip
        )),
    }
}

/// For a terminal of 80 columns.
fn table(lines: &[TripSummary]) -> String {
    let mut table = TextTable::new(&[
        "Trip",
        "Operator",
        "Start (UTC)",
        "Length",
        "Sent",
        "Marks",
        "Confirmed",
    ]);
    for line in lines {
        let start = line.start.as_deref().unwrap_or("not known");
        let log = match (line.entries, line.confirmed) {
            (0, _) => "-".to_owned(),
            (entries, confirmed) => format!("{confirmed} of {entries}"),
        };
        let minute = start.get(..16).unwrap_or(start);
        table.row(vec![
            line.trip.clone(),
            line.operator.clone().unwrap_or_default(),
            minute.replace('T', " "),
            length(line.length_s),
            line.transmissions.to_string(),
            line.marks.to_string(),
            log,
        ]);
    }
    table.text()
}
