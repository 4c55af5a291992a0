//! The page that exports, with the same code as the command.

use jumpseat_logbook::LogbookAction;
use jumpseat_values::display::count;
use maud::{Markup, html};

use super::layout::{PageLayout, trip_path};
use crate::{EXPORT_FORMATS, PageExport};

fn layout<'a>(trip: Option<&str>, last: Option<&'a LogbookAction>) -> PageLayout<'a> {
    PageLayout {
        title: "Export",
        kind: "export",
        above: trip.map(|trip| (trip_path(trip), trip.to_owned())),
        last,
    }
}

pub(crate) fn export(trip: Option<&str>, last: Option<&LogbookAction>) -> Markup {
    layout(trip, last).around(html! {
        h1 { "Export" }
        form .export method="post" action="/export" {
            fieldset {
                legend { "Which contacts" }
                @if let Some(trip) = trip {
                    label { input type="radio" name="trip" value=(trip) checked;
                        " Confirmed ones of " span .name { (trip) } }
                }
                label { input type="radio" name="trip" value="" checked[trip.is_none()];
                    " All confirmed contacts that were not exported in this format yet" }
            }
            fieldset {
                legend { "As" }
                @for (index, (key, words)) in EXPORT_FORMATS.iter().enumerate() {
                    label { input type="radio" name="format" value=(key) checked[index == 0];
                        " " (words) }
                }
            }
            p { button #next .primary type="submit" { "Export " kbd { "Enter" } } }
        }
    })
}

pub(crate) fn exported(
    exported: &PageExport,
    index: Option<usize>,
    trip: Option<&str>,
    last: Option<&LogbookAction>,
) -> Markup {
    layout(trip, last).around(html! {
        h1 { "Export" }
        @if let Some(file) = &exported.file {
            p #exported role="status" {
                strong { (count(exported.contacts, "contact", "contacts")) }
                " written to " code { (file.display()) }
            }
        }
        @if !exported.notes.is_empty() {
            ul .doubts { @for note in &exported.notes { li { (note) } } }
        }
        @if let Some(index) = index {
            p { a .button.primary #next href={ "/exported/" (index) } download { "Save a copy" } }
        }
        p { a href="/export" { "Export something else" } }
    })
}
