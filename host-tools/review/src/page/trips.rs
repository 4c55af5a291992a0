//! The page of all trips.

use chrono::{DateTime, Utc};
use jumpseat_logbook::LogbookAction;
use maud::{Markup, html};

use super::layout::{PageLayout, trip_path};
use super::wording::{clock, day};

/// A trip in the list.
pub(crate) struct TripListLine {
    pub(crate) name: String,
    /// Its last entry's time.
    pub(crate) when: Option<DateTime<Utc>>,
    pub(crate) all: u64,
    pub(crate) confirmed: u64,
}

/// The trips of the library; `command` is how a command for it begins.
pub(crate) fn trips(lines: &[TripListLine], last: Option<&LogbookAction>, command: &str) -> Markup {
    let layout = PageLayout {
        title: "Trips",
        kind: "trips",
        above: None,
        last,
    };
    layout.around(html! {
        h1 { "Trips" }
        @if lines.is_empty() {
            p .empty {
                "There are no trips in the library yet. " code { (command) " pull FOLDER" }
                " copies trips from a card, " code { (command) " draft TRIP" }
                " finds the contacts in it."
            }
        } @else {
            ul .trips { @for line in lines { (trip(line)) } }
        }
    })
}

fn trip(line: &TripListLine) -> Markup {
    let left = line.all.saturating_sub(line.confirmed);
    html! {
        li {
            a href=(trip_path(&line.name)) {
                strong {
                    @match line.when {
                        Some(when) => { (day(when)) ", last entry " (clock(when)) " UTC" }
                        None => { (line.name) }
                    }
                }
                span .name { (line.name) }
                span .counts {
                    @if line.all == 0 { "not drafted, or no contacts" }
                    @else if left == 0 { "all " (line.all) " confirmed" }
                    @else { (line.confirmed) " of " (line.all) " confirmed" }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_empty_library_says_how_trips_come_into_this_one() {
        let page = trips(&[], None, "jumpseat --home 'my home'").into_string();
        for hint in ["pull FOLDER", "draft TRIP"] {
            let whole = format!("<code>jumpseat --home 'my home' {hint}</code>");
            assert!(page.contains(&whole), "{page}");
        }
    }
}
