//! The page of an entry: its form on one side, its sound on the other.

use jumpseat_logbook::LogbookAction;
use jumpseat_values::display::{count, length};
use maud::{Markup, html};

use super::entry_page::EntryPage;
use super::layout::{PageLayout, trip_path};
use super::wording::{clock, day};
use super::{edit, strip};
use crate::sound::strips;
use crate::view::{EntryView, StripWord, heard, said, spots};

pub(crate) fn entry(view: &EntryPage<'_>, last: Option<&LogbookAction>) -> Markup {
    let shown = &view.shown;
    let title = match &shown.call {
        Some(call) => format!("{}: {call}", shown.number),
        None => format!("Entry {}", shown.number),
    };
    let above = shown.trip.as_ref().map(|trip| {
        let words = shown.on.map_or_else(|| trip.clone(), day);
        (trip_path(trip), words)
    });
    let layout = PageLayout {
        title: &title,
        kind: "entry",
        above,
        last,
    };
    layout.around(html! {
        div .title {
            h1 { "Entry " (shown.number) }
            span .state.(shown.state.class()) { (shown.state.label()) }
            (beside(view))
        }
        (facts(shown))
        @if let Some(wrong) = view.wrong { p .wrong role="alert" { (wrong) } }
        p #trouble .wrong role="alert" hidden {}
        div .work {
            section .say aria-label="What goes into the log" { (edit::form(view)) }
            section .hear aria-label="What was heard" { (sound(view)) }
        }
    })
}

fn beside(view: &EntryPage<'_>) -> Markup {
    html! {
        nav .beside aria-label="Entries beside it" {
            @if let Some((before, _)) = view.before {
                a #before href={ "/entry/" (before.number) } { "Previous " kbd { "P" } }
            }
            @if let Some((after, _)) = view.after {
                a #after href={ "/entry/" (after.number) } { "Next " kbd { "N" } }
            }
            span .left { (count(view.left, "entry", "entries")) " to decide" }
        }
    }
}

fn facts(shown: &EntryView) -> Markup {
    let long = shown
        .on_s
        .zip(shown.off_s)
        .map(|(on, off)| length(off - on));
    html! {
        p .facts {
            @if let Some(on) = shown.on { span { (clock(on)) " UTC" } }
            @if let Some(long) = long { span { (long) " long" } }
            @if let Some(hz) = shown.hz {
                span .sign { (jumpseat_values::display::megahertz(hz)) @if let Some(mode) = &shown.mode { " " (mode) } }
            }
            @if let Some(band) = &shown.band { span { (band) } }
            @if let Some(locator) = &shown.locator { span { (locator) } }
            @if let Some(area) = &shown.area { span { (area) } }
            @if shown.marked { span .marked { "you pressed the mark" } }
            @if shown.look { span { "a mark without a contact: please look at it" } }
        }
        @if !shown.doubts.is_empty() && shown.state.is_open() {
            ul .doubts { @for doubt in &shown.doubts { li { (doubt) } } }
        }
    }
}

fn sound(view: &EntryPage<'_>) -> Markup {
    let draft = view.entry.draft.as_ref();
    let Some((open, draft)) = view.open.zip(draft) else {
        return html! {
            p .empty {
                "There is no sound: "
                @if view.shown.trip.is_none() { "this entry is not from a trip." }
                @else { "its trip is not in the library." }
            }
        };
    };
    let trip = view.shown.trip.as_deref().unwrap_or_default();
    let strips = strips(draft, open.rate());
    let words: Vec<Vec<StripWord>> = strips
        .iter()
        .map(|strip| {
            let drive = open.drive.as_ref();
            drive.map_or_else(Vec::new, |drive| {
                heard(drive, strip.sent, strip.from_s, strip.to_s)
            })
        })
        .collect();
    let transcript = open.transcript.as_ref();
    let overs = transcript.map_or_else(Vec::new, |transcript| transcript.of_draft(draft));
    let all: Vec<StripWord> = words.iter().flatten().cloned().collect();
    let spots = spots(&view.shown, &all);
    html! {
        (tools(spots.len()))
        @if open.drive.is_none() {
            p .doubts {
                "The words that were heard are not stored. " code { (view.command) " draft " (trip) }
                " finds them again."
            }
        }
        div #strips {
            @for (strip, words) in strips.iter().zip(&words) {
                @let text = said(&overs, strip.sent, strip.from_s, strip.to_s);
                (strip::strip(view, open, trip, strip, (words, &text)))
            }
        }
        ul #spots hidden {
            @for spot in &spots {
                li data-from=(format!("{:.3}", spot.from_s)) data-to=(format!("{:.3}", spot.to_s))
                    data-word=[spot.word] {}
            }
        }
    }
}

/// The buttons for the sound.
fn tools(spots: usize) -> Markup {
    html! {
        div .tools role="group" aria-label="Play" {
            button type="button" #play .primary { "Play " kbd { "Space" } }
            button type="button" #doubtful disabled[spots == 0] {
                "Next doubtful (" (spots) ") " kbd { "D" }
            }
            button type="button" #repeat aria-pressed="false" { "Repeat " kbd { "R" } }
            button type="button" #slow aria-pressed="false" { span { "Speed 1" } " " kbd { "S" } }
            button type="button" #clean aria-pressed="false" { "Without noise " kbd { "C" } }
            button type="button" #raw aria-pressed="false" { "As recorded " kbd { "V" } }
        }
    }
}
