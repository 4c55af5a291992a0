//! `jumpseat keep`.

use anyhow::Result;
use chrono::Utc;
use clap::Args;
use jumpseat_values::display::count;
use jumpseat_values::display::nearest_second;
use serde::Serialize;

use super::whole_number;
use crate::home::HomeFolder;
use crate::keep::{KeepDecision, KeepPlan, act, limit, plans};
use crate::outcome::{CommandOutcome, UsageError};
use crate::print;
use crate::progress::ProgressLine;
use crate::station;
use crate::table::TextTable;
use crate::text::bytes;

/// Of older trips only the sound of confirmed contacts is kept, with a minute
/// around them, as FLAC.
///
/// Without --now it only shows what would be done. Trips with anything that is not
/// decided stay whole, and without a setting all of them do.
#[derive(Debug, Args)]
pub(crate) struct KeepCommand {
    /// Sets how long whole trips stay
    #[arg(long, value_name = "DAYS", value_parser = whole_number::<u32>)]
    days: Option<u32>,
    /// Takes the setting back: whole trips stay for ever
    #[arg(long, conflicts_with_all = ["days", "now"])]
    forever: bool,
    /// Does what the preview shows
    #[arg(long)]
    now: bool,
    /// Prints JSON
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Serialize)]
struct KeepPreview<'a> {
    /// None: whole trips stay for ever.
    days: Option<u32>,
    done: bool,
    freed_bytes: u64,
    trips: Vec<KeepPreviewRow<'a>>,
}

#[derive(Debug, Serialize)]
struct KeepPreviewRow<'a> {
    trip: &'a str,
    /// UTC of the first sample, RFC 3339.
    start: Option<String>,
    #[serde(flatten)]
    fate: &'a KeepDecision,
}

impl KeepCommand {
    pub(super) fn run(self, home: &HomeFolder) -> Result<CommandOutcome> {
        if self.forever {
            station::set_keep(&home.station_file(), None)?;
        } else if let Some(days) = self.days {
            station::set_keep(&home.station_file(), Some(days))?;
        }
        let days = home.station()?.keep_whole_days;
        let Some(limit) = days.map(|days| limit(Utc::now(), days)) else {
            if self.now {
                let words = "nothing says how long whole trips stay; say it with --days DAYS";
                return Err(UsageError(words.into()).into());
            }
            self.say(home, None, &[], 0)?;
            return Ok(CommandOutcome::Done);
        };
        let plans = plans(home, limit)?;
        let mut freed = 0;
        if self.now {
            let going = plans.iter().filter(|plan| goes(plan));
            let progress = ProgressLine::new("packing", going.clone().count() as u64, false);
            for plan in going {
                freed += act(plan, &mut || Ok(()))?;
                progress.add(1);
            }
        }
        self.say(home, days, &plans, freed)?;
        Ok(CommandOutcome::Done)
    }

    fn say(
        &self,
        home: &HomeFolder,
        days: Option<u32>,
        plans: &[KeepPlan],
        freed: u64,
    ) -> Result<()> {
        if self.json {
            let trips = plans.iter().map(KeepPreviewRow::of).collect();
            return print::json(&KeepPreview {
                days,
                done: self.now,
                freed_bytes: freed,
                trips,
            });
        }
        let command = home.command();
        let Some(days) = days else {
            return print::line(&format!(
                "Whole trips stay for ever. `{command} keep --days 90` sets how long; it shows \
                 what would go, and nothing goes before `{command} keep --now`.",
            ));
        };
        let words = count(usize::try_from(days)?, "day", "days");
        print::line(&format!("Whole trips stay for {words}."))?;
        if plans.is_empty() {
            return print::line("There is no trip in the library.");
        }
        print::text(&table(plans))?;
        if self.now {
            return print::line(&format!("{} freed.", bytes(freed)));
        }
        if plans.iter().any(goes) {
            print::line(&format!(
                "Nothing was touched. `{command} keep --now` does it; it cannot be undone.",
            ))?;
        }
        Ok(())
    }
}

fn goes(plan: &KeepPlan) -> bool {
    matches!(plan.fate, KeepDecision::Goes { .. })
}

impl<'a> KeepPreviewRow<'a> {
    fn of(plan: &'a KeepPlan) -> Self {
        let start = plan.start.map(nearest_second);
        Self {
            trip: &plan.trip,
            start: start.map(|utc| utc.format("%Y-%m-%dT%H:%M:%SZ").to_string()),
            fate: &plan.fate,
        }
    }
}

fn table(plans: &[KeepPlan]) -> String {
    let mut table = TextTable::new(&["Trip", "Start (UTC)", "What is done with its sound"]);
    for plan in plans {
        let start = plan.start.map(nearest_second);
        let start = start.map_or("not known".to_owned(), |utc| {
            utc.format("%Y-%m-%d %H:%M").to_string()
        });
        let what = match &plan.fate {
            KeepDecision::Stays { why } => format!("stays whole: {why}"),
            KeepDecision::Done => "done: confirmed contacts are kept".to_owned(),
            KeepDecision::Goes {
                contacts,
                packed_files,
                packed_bytes,
                gone_files,
                gone_bytes,
            } => format!(
                "{}: {} ({}) packed without loss; {} ({}) go",
                count(*contacts, "contact", "contacts"),
                count(*packed_files, "file", "files"),
                bytes(*packed_bytes),
                count(*gone_files, "file", "files"),
                bytes(*gone_bytes),
            ),
        };
        table.row(vec![plan.trip.clone(), start, what]);
    }
    table.text()
}
