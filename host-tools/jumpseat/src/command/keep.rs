//! `jumpseat keep`.

use anyhow::Result;
use chrono::Utc;
use clap::Args;
use jumpseat_values::display::nearest_second;
use jumpseat_values::display::{byte_size, count};
use serde::Serialize;

use super::arguments::whole_number;
use crate::home::HomeFolder;
use crate::keep::{KeepDecision, KeepPlan, age_limit, make_plans, release_sound};
use crate::outcome::{CommandOutcome, UsageError};
use crate::print;
use crate::progress::ProgressLine;
use crate::station;
use crate::table::TextTable;

#[derive(Debug, Args)]
pub(crate) struct KeepCommand {
    /// Set for how many days complete trips are kept
    #[arg(long, value_name = "DAYS", value_parser = whole_number::<u32>)]
    days: Option<u32>,
    /// Remove the setting: complete trips are kept for ever
    #[arg(long, conflicts_with_all = ["days", "now"])]
    forever: bool,
    /// Remove the sound that the preview lists
    #[arg(long)]
    now: bool,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Serialize)]
struct KeepPreview<'a> {
    /// `None`: complete trips are kept for ever.
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
    decision: &'a KeepDecision,
}

impl KeepCommand {
    pub(super) fn run(self, home: &HomeFolder) -> Result<CommandOutcome> {
        if self.forever {
            station::set_keep(&home.station_file(), None)?;
        } else if let Some(days) = self.days {
            station::set_keep(&home.station_file(), Some(days))?;
        }
        let days = home.station()?.keep_whole_days;
        let Some(limit) = days.map(|days| age_limit(Utc::now(), days)) else {
            if self.now {
                let words =
                    "nothing says how long complete trips are kept; set it with --days DAYS";
                return Err(UsageError(words.into()).into());
            }
            self.say(home, None, &[], 0)?;
            return Ok(CommandOutcome::Done);
        };
        let plans = make_plans(home, limit)?;
        let mut freed = 0;
        if self.now {
            let going = plans.iter().filter(|plan| goes(plan));
            let progress = ProgressLine::new("packing", going.clone().count() as u64, false);
            for plan in going {
                freed += release_sound(plan, &mut || Ok(()))?;
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
                "Complete trips are kept for ever. `{command} keep --days 90` sets a limit and \
                 shows what would be removed; only `{command} keep --now` removes it.",
            ));
        };
        let words = count(usize::try_from(days)?, "day", "days");
        print::line(&format!("Complete trips are kept for {words}."))?;
        if plans.is_empty() {
            return print::line("There is no trip in the library.");
        }
        print::text(&table(plans))?;
        if self.now {
            return print::line(&format!("{} freed.", byte_size(freed)));
        }
        if plans.iter().any(goes) {
            print::line(&format!(
                "Nothing was changed. `{command} keep --now` does it; it cannot be undone.",
            ))?;
        }
        Ok(())
    }
}

fn goes(plan: &KeepPlan) -> bool {
    matches!(plan.decision, KeepDecision::Goes { .. })
}

impl<'a> KeepPreviewRow<'a> {
    fn of(plan: &'a KeepPlan) -> Self {
        let start = plan.start.map(nearest_second);
        Self {
            trip: &plan.trip,
            start: start.map(|utc| utc.format("%Y-%m-%dT%H:%M:%SZ").to_string()),
            decision: &plan.decision,
        }
    }
}

fn table(plans: &[KeepPlan]) -> String {
    let mut table = TextTable::new(&["Trip", "Start (UTC)", "What happens to its sound"]);
    for plan in plans {
        let start = plan.start.map(nearest_second);
        let start = start.map_or("not known".to_owned(), |utc| {
            utc.format("%Y-%m-%d %H:%M").to_string()
        });
        let what = match &plan.decision {
            KeepDecision::Stays { why } => format!("kept complete: {why}"),
            KeepDecision::Done => "done: the confirmed contacts are kept".to_owned(),
            KeepDecision::Goes {
                contacts,
                packed_files,
                packed_bytes,
                gone_files,
                gone_bytes,
            } => format!(
                "{}: {} ({}) to pack without loss; {} ({}) to remove",
                count(*contacts, "contact", "contacts"),
                count(*packed_files, "file", "files"),
                byte_size(*packed_bytes),
                count(*gone_files, "file", "files"),
                byte_size(*gone_bytes),
            ),
        };
        table.row(vec![plan.trip.clone(), start, what]);
    }
    table.text()
}
