//! `jumpseat export`.

use std::path::PathBuf;

use anyhow::{Result, bail};
use chrono::{NaiveDate, Utc};
use clap::Args;

use super::arguments::{band, check_date_order, date};
use crate::export::{ExportFormat, ExportScope, ExportSelection, export, export_segments};
use crate::home::{HomeFolder, is_there};
use crate::interrupt;
use crate::outcome::{CommandOutcome, UsageError};
use crate::print;
use crate::table::TextTable;

/// Writes confirmed contacts only. Without --trip, --from, --to, --call, --band, --station or
/// --all it writes those that were not exported in this format before.
#[derive(Debug, Args)]
pub(crate) struct ExportCommand {
    /// The format to write
    #[arg(long, value_enum, ignore_case = true)]
    format: Option<ExportFormat>,
    /// Only this trip (its folder, name or number), also what was exported before
    #[arg(long, value_name = "TRIP", conflicts_with = "all")]
    trip: Option<String>,
    /// Only from this day on (UTC), also what was exported before
    #[arg(long, value_name = "DATE", value_parser = date)]
    from: Option<NaiveDate>,
    /// Only up to this day (UTC, included), also what was exported before
    #[arg(long, value_name = "DATE", value_parser = date)]
    to: Option<NaiveDate>,
    /// Only other stations whose call sign contains this, also what was exported before
    #[arg(long, value_name = "PART")]
    call: Option<String>,
    /// Only this band, such as 20m, also what was exported before
    #[arg(long, value_parser = band)]
    band: Option<String>,
    /// Only contacts that your station made under this call sign, also what was exported before
    #[arg(long, value_name = "CALL")]
    station: Option<String>,
    /// Everything, also what was exported before and what was imported
    #[arg(long)]
    all: bool,
    /// Drafts too; they do not count as exported
    #[arg(long)]
    drafts: bool,
    /// The file to write, or the folder for clips and segments [default: jumpseat-DATE-TIME in
    /// this folder, with the extension of the format]
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// List what was exported and when, and write nothing
    #[arg(long, conflicts_with_all = ["format", "out", "all", "drafts"])]
    list: bool,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

impl ExportCommand {
    pub(super) fn run(self, home: &HomeFolder) -> Result<CommandOutcome> {
        if self.list {
            return list(home, self.json);
        }
        interrupt::tidy_up();
        let Some(format) = self.format else {
            let words = "choose a format: --format adif for another log; or adx, csv, gpx, clips or \
                 segments, which --help explains";
            return Err(UsageError(words.into()).into());
        };
        check_date_order(self.from, self.to)?;
        let trip = self.trip.map(|word| home.trip_name(&word)).transpose()?;
        let narrow = self.from.is_some()
            || self.to.is_some()
            || self.call.is_some()
            || self.band.is_some()
            || self.station.is_some();
        let selection = ExportSelection {
            which: match trip {
                Some(trip) => ExportScope::Trip(trip),
                None if self.all || narrow => ExportScope::All,
                None => ExportScope::New,
            },
            from: self.from,
            to: self.to,
            call: self.call,
            band: self.band,
            station: self.station,
            drafts: self.drafts,
        };
        let out = self
            .out
            .unwrap_or_else(|| PathBuf::from(format.file_name(Utc::now())));
        if is_there(&out)? {
            bail!(
                "{} is there already and may be your only copy; name another with --out, or move \
                 it away",
                out.display()
            );
        }
        match (format, &selection.which) {
            (ExportFormat::Segments, ExportScope::Trip(_)) if narrow || self.drafts => {
                Err(UsageError(
                    "segments are all the sound of a trip; leave out the options that choose contacts"
                        .to_owned(),
                )
                .into())
            }
            (ExportFormat::Segments, ExportScope::Trip(trip)) => {
                export_segments(home, trip, &out, self.json)
            }
            (ExportFormat::Segments, _) => {
                Err(UsageError("name the trip: --format segments --trip TRIP".to_owned()).into())
            }
            _ => export(home, format, &selection, &out, self.json),
        }
    }
}

/// Prints what was exported, the newest first.
fn list(home: &HomeFolder, json: bool) -> Result<CommandOutcome> {
    let exports = match home.logbook_read_only()? {
        Some(logbook) => logbook.exports()?,
        None => Vec::new(),
    };
    if json {
        print::json(&exports)?;
        return Ok(CommandOutcome::Done);
    }
    if exports.is_empty() {
        print::line("Nothing was exported yet.")?;
        return Ok(CommandOutcome::Done);
    }
    let mut table = TextTable::new(&["UTC", "Format", "Contacts", "File"]);
    for export in exports {
        table.row(vec![
            export.at.get(..19).unwrap_or(&export.at).replace('T', " "),
            export.format,
            export.contacts.to_string(),
            export.path,
        ]);
    }
    print::text(&table.text())?;
    Ok(CommandOutcome::Done)
}
