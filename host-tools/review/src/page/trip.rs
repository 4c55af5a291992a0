//! The page of a trip.

use jumpseat_logbook::LogbookAction;
use jumpseat_values::Doubt;
use jumpseat_values::display::{count, length};
use maud::{Markup, html};

use super::layout::PageLayout;
use super::wording::{clock, day, percent, sureness};
use super::{map, time_line, totals};
use crate::view::{EntryState, EntryView, TripOverview, TripTotals};

/// How many doubts are shown; a torn journal has hundreds.
const DOUBTS_IN_VIEW: usize = 5;

pub(crate) fn trip(
    name: &str,
    glance: &TripOverview,
    entries: &[EntryView],
    last: Option<&LogbookAction>,
) -> Markup {
    let title = glance.begins.map_or_else(|| name.to_owned(), day);
    let layout = PageLayout {
        title: &title,
        kind: "trip",
        above: Some(("/".into(), "Trips".into())),
        last,
    };
    layout.around(html! {
        div .title {
            h1 { (title) }
            p .facts {
                @if let Some((begins, ends)) = glance.begins.zip(glance.ends) {
                    (clock(begins)) " to " (clock(ends)) " UTC, "
                }
                (length(glance.length_s)) " long. " span .name { (name) }
            }
        }
        (go_on(name, entries))
        (doubts(&glance.doubts))
        section aria-labelledby="drive" {
            h2 #drive { "The drive" }
            (time_line::road(glance, entries))
        }
        div .columns {
            section aria-labelledby="entries" {
                h2 #entries { "Entries" }
                (list(entries))
            }
            section aria-labelledby="way" {
                h2 #way { "The route" }
                (map::map(glance, entries))
                h2 { "Totals" }
                (totals::totals(&TripTotals::count(entries)))
            }
        }
        @if !glance.troubles.is_empty() {
            section aria-labelledby="troubles" {
                h2 #troubles { "Faults during the drive" }
                ul .troubles {
                    @for trouble in &glance.troubles {
                        li {
                            (length(trouble.at_s)) ": " (trouble.words)
                            @match trouble.until_s {
                                Some(until) => { " (for " (length(until - trouble.at_s)) ")" }
                                None => { " (to the end of the trip)" }
                            }
                        }
                    }
                }
            }
        }
    })
}

/// Doubts about the trip: the first few in view, the rest behind a fold.
fn doubts(all: &[Doubt]) -> Markup {
    let (first, rest) = all.split_at(all.len().min(DOUBTS_IN_VIEW));
    html! {
        @if !first.is_empty() {
            ul .doubts { @for doubt in first { li { (doubt) } } }
        }
        @if !rest.is_empty() {
            details .rest {
                summary { (rest.len()) " more like these" }
                ul .doubts { @for doubt in rest { li { (doubt) } } }
            }
        }
    }
}

/// The one thing to do next.
fn go_on(name: &str, entries: &[EntryView]) -> Markup {
    let first = |state: EntryState| entries.iter().find(|entry| entry.state == state);
    let left = entries.iter().filter(|entry| entry.state.is_open()).count();
    let next = first(EntryState::Open).or_else(|| first(EntryState::Later));
    let confirmed = entries
        .iter()
        .any(|entry| entry.state == EntryState::Confirmed);
    let query: String = form_urlencoded::byte_serialize(name.as_bytes()).collect();
    html! {
        p .next {
            @match next {
                Some(entry) => {
                    a .button.primary #next href={ "/entry/" (entry.number) } {
                        "Listen to entry " (entry.number) " " kbd { "Enter" }
                    }
                    " " (count(left, "entry", "entries")) " to decide"
                }
                None if confirmed => {
                    a .button.primary #next href={ "/export?trip=" (query) } {
                        "Export " kbd { "Enter" }
                    }
                    " Everything is decided."
                }
                None => { "There is nothing to decide in this trip." }
            }
        }
    }
}

fn list(entries: &[EntryView]) -> Markup {
    html! {
        ol .entries {
            @for entry in entries {
                li .(entry.state.class()) {
                    a href={ "/entry/" (entry.number) } {
                        span .number { (entry.number) }
                        span .time {
                            @match (entry.on, entry.on_s) {
                                (Some(on), _) => { (clock(on)) }
                                (None, Some(at)) => { "+" (length(at)) }
                                (None, None) => { "no time" }
                            }
                        }
                        @match &entry.call {
                            Some(call) => { span .plate { (call) } }
                            None => { span .plate.none { @if entry.look { "a mark" } @else { "no call sign" } } }
                        }
                        @if let (EntryState::Open | EntryState::Later, Some(p)) = (entry.state, entry.probability) {
                            span .sureness.(sureness(p)) { (percent(p)) }
                        }
                        span .dial {
                            @if let Some(hz) = entry.hz { (jumpseat_values::display::megahertz(hz)) " " }
                            @if let Some(mode) = &entry.mode { (mode) }
                        }
                        span .area { @if let Some(area) = &entry.area { (area) } }
                        span .state { @if entry.marked { "marked, " } (entry.state.label()) }
                    }
                }
            }
        }
    }
}
