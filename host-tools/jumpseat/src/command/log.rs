//! `jumpseat log`.

mod backups;
mod one_entry;
mod said;

use anyhow::Result;
use chrono::NaiveDate;
use clap::Args;
use jumpseat_entries::SearchPhrase;
use jumpseat_logbook::{EntryFilter, EntrySearch, Logbook};
use jumpseat_values::display::count;

use super::arguments::{band, check_date_order, date, whole_number};
use super::entries;
use crate::duplicates;
use crate::home::HomeFolder;
use crate::outcome::{CommandOutcome, UsageError};
use crate::print;
use said::SaidQuery;

/// Entries that are printed without --last.
const DEFAULT_LOG_ROWS: u32 = 200;

#[derive(Debug, Args)]
pub(crate) struct LogCommand {
    /// Only this trip (its folder, name or number)
    #[arg(long, value_name = "TRIP")]
    trip: Option<String>,
    /// Only other stations whose call sign contains this
    #[arg(long, value_name = "PART")]
    call: Option<String>,
    /// Only this band, such as 20m
    #[arg(long, value_parser = band)]
    band: Option<String>,
    /// Only contacts that your station made under this call sign
    #[arg(long, value_name = "CALL")]
    station: Option<String>,
    /// Only from this day on (UTC)
    #[arg(long, value_name = "DATE", value_parser = date)]
    from: Option<NaiveDate>,
    /// Only up to this day (UTC, included)
    #[arg(long, value_name = "DATE", value_parser = date)]
    to: Option<NaiveDate>,
    /// Only the last COUNT entries [default: 200 in a table, all with --json]
    #[arg(long, value_name = "COUNT", value_parser = whole_number::<u32>)]
    last: Option<u32>,
    /// Only entries in whose overs these words were said, one after the other; `anten*` stands
    /// for every word that begins so, and 73 also for "seven three"
    #[arg(long, value_name = "WORDS", num_args = 1.., conflicts_with = "duplicates")]
    said: Vec<String>,
    /// Only the entry with this number, with everything that was said in its overs
    #[arg(long, value_name = "NUMBER", value_parser = whole_number::<i64>, conflicts_with_all = [
        "trip", "call", "band", "station", "from", "to", "last", "said", "duplicates", "within",
    ])]
    entry: Option<i64>,
    /// Only pairs of entries that may be the same contact
    #[arg(long, conflicts_with_all = ["trip", "call", "band", "station", "from", "to", "last"])]
    duplicates: bool,
    /// Contacts that began within MINUTES of each other may be the same [default: the
    /// setting in station.toml, or 30]
    #[arg(long, value_name = "MINUTES", value_parser = whole_number::<u32>)]
    within: Option<u32>,
    #[command(flatten)]
    backups: backups::BackupOptions,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

impl LogCommand {
    pub(super) fn run(self, home: &HomeFolder) -> Result<CommandOutcome> {
        if let Some(outcome) = self.backups.run(home, self.json)? {
            return Ok(outcome);
        }
        check_date_order(self.from, self.to)?;
        let said = self.said.join(" ");
        let phrase = (!self.said.is_empty()).then(|| SearchPhrase::parse(&said));
        let phrase = phrase
            .transpose()
            .map_err(|error| UsageError(error.to_string()))?;
        let trip = self.trip.as_deref().map(|word| home.trip_name(word));
        let trip = trip.transpose()?;
        let most = if self.json {
            None
        } else {
            Some(DEFAULT_LOG_ROWS)
        };
        let search = EntrySearch {
            filter: trip.as_deref().map_or(EntryFilter::All, EntryFilter::Trip),
            call: self.call.as_deref(),
            band: self.band.as_deref(),
            station: self.station.as_deref(),
            from: self.from,
            to: self.to,
            last: self.last.or(most),
        };
        let logbook = home.logbook_read_only()?;
        if let Some(phrase) = &phrase {
            let query = SaidQuery {
                said: &said,
                phrase,
                search,
                json: self.json,
            };
            return query.run(home, logbook.as_ref());
        }
        let Some(logbook) = logbook else {
            if self.json {
                print::json::<[(); 0]>(&[])?;
            } else {
                print::line(&nothing(home, trip.as_deref(), false))?;
            }
            return Ok(CommandOutcome::Done);
        };
        if let Some(number) = self.entry {
            return one_entry::print_entry(home, &logbook, number, self.json);
        }
        if self.duplicates {
            return self.duplicates(home, &logbook);
        }
        let entries = logbook.search(&search)?;
        if self.json {
            print::json(&entries)?;
            return Ok(CommandOutcome::Done);
        }
        if entries.is_empty() {
            let all = EntrySearch::by_filter(search.filter);
            let narrow = logbook.count_found(&all)? > 0;
            print::line(&nothing(home, trip.as_deref(), narrow))?;
            return Ok(CommandOutcome::Done);
        }
        let within = home.station()?.duplicate_window(self.within);
        let pairs = duplicates::duplicates_by_number(&logbook, &entries, within)?;
        print::text(&entries::table(&entries, &pairs))?;
        print::line("")?;
        for line in entries::legend(&entries) {
            print::line(line)?;
        }
        let confirmed = entries
            .iter()
            .filter(|entry| entry.contact.is_some())
            .count();
        let found = logbook.count_found(&search)? as usize;
        let shown = count(entries.len(), "entry", "entries");
        if found > entries.len() {
            print::line(&format!(
                "the last {shown} of {found}, {confirmed} of them confirmed; --last {found} shows all"
            ))?;
        } else {
            print::line(&format!("{shown}, {confirmed} confirmed"))?;
        }
        Ok(CommandOutcome::Done)
    }

    /// Prints pairs of entries: confirmed ones with the same station, and drafts also at the
    /// same time.
    fn duplicates(&self, home: &HomeFolder, logbook: &Logbook) -> Result<CommandOutcome> {
        let within = home.station()?.duplicate_window(self.within);
        let mut pairs = logbook.duplicates(within)?;
        for entry in logbook.entries(&EntryFilter::Unconfirmed)? {
            for pair in logbook.duplicates_of(&entry, within)? {
                let known = pairs
                    .iter()
                    .any(|known| (known.first, known.second) == (pair.second, pair.first));
                if !known {
                    pairs.push(pair);
                }
            }
        }
        let pairs = duplicates::read_pairs(logbook, &pairs)?;
        if self.json {
            print::json(&pairs)?;
        } else if pairs.is_empty() {
            print::line("No two entries look like the same contact.")?;
        } else {
            duplicates::print_duplicates(&pairs, pairs.len(), 0)?;
        }
        Ok(CommandOutcome::doubtful(!pairs.is_empty()))
    }
}

fn nothing(home: &HomeFolder, trip: Option<&str>, narrow: bool) -> String {
    let command = home.command();
    match trip {
        _ if narrow => format!("No entry matches. `{command} log` without options lists all."),
        Some(trip) if home.trips().join(trip).is_dir() => format!(
            "The logbook has no entry of {trip}. `{command} draft {trip}` looks for contacts."
        ),
        Some(trip) => format!(
            "The logbook has no entry of {trip}, and there is no such trip in the library. \
             `{command} trips` lists the trips."
        ),
        None => format!("The logbook is empty. `{command} draft TRIP` adds entries."),
    }
}
