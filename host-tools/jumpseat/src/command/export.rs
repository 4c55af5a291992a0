//! `jumpseat export`.

use std::path::PathBuf;

use anyhow::{Result, bail};
use chrono::{NaiveDate, Utc};
use clap::Args;

use crate::export::{Format, Selection, Which, export};
use crate::home::Home;
use crate::outcome::{Misuse, Outcome};

/// Confirmed contacts only. Without --trip, --from, --to or --all: what did not go
/// out in this format yet.
#[derive(Debug, Args)]
pub(crate) struct Export {
    /// The form of what is written
    #[arg(long, value_enum)]
    format: Format,
    /// Only this trip, also what was exported before (its folder, name or number)
    #[arg(long, value_name = "TRIP", conflicts_with = "all")]
    trip: Option<String>,
    /// Only from this day on (UTC), also what was exported before
    #[arg(long, value_name = "DATE", value_parser = date)]
    from: Option<NaiveDate>,
    /// Only up to this day (UTC, included), also what was exported before
    #[arg(long, value_name = "DATE", value_parser = date)]
    to: Option<NaiveDate>,
    /// Everything, also what was exported before
    #[arg(long)]
    all: bool,
    /// The file to write, for clips the folder [default: jumpseat-DATE-TIME in this folder, with
    /// the format's own ending]
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

fn date(text: &str) -> Result<NaiveDate, String> {
    text.parse()
        .map_err(|_| "a date is a year, a month and a day, such as 2026-05-14".to_owned())
}

impl Export {
    pub(super) fn run(self, home: &Home) -> Result<Outcome> {
        if let (Some(from), Some(to)) = (self.from, self.to)
            && to < from
        {
            let text = format!("--to {to} is before --from {from}; exchange the two");
            return Err(Misuse(text).into());
        }
        let trip = self.trip.map(|word| home.trip_name(&word)).transpose()?;
        let dated = self.from.is_some() || self.to.is_some();
        let selection = Selection {
            which: match trip {
                Some(trip) => Which::Trip(trip),
                None if self.all || dated => Which::All,
                None => Which::New,
            },
            from: self.from,
            to: self.to,
        };
        let out = self.out.unwrap_or_else(|| {
            let (_, ending) = self.format.words();
            let name = Utc::now().format("jumpseat-%Y%m%d-%H%M%S");
            PathBuf::from(format!("{name}{ending}"))
        });
        if out.exists() {
            bail!(
                "{} is there already and may be your only copy; name another with --out, or move \
                 it away",
                out.display()
            );
        }
        export(home, self.format, &selection, &out)
    }
}
