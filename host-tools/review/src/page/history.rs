//! The page of the actions, each with its undo.

use jumpseat_logbook::LogbookAction;
use maud::{Markup, html};

use super::layout::PageLayout;
use super::wording::capital;

pub(crate) fn history(actions: &[LogbookAction], last: Option<&LogbookAction>) -> Markup {
    let layout = PageLayout {
        title: "What was done",
        kind: "history",
        above: None,
        last,
    };
    layout.around(html! {
        h1 { "What was done" }
        @if actions.is_empty() { p .empty { "Nothing yet." } }
        ol .history {
            @for action in actions { (line(action)) }
        }
    })
}

fn line(action: &LogbookAction) -> Markup {
    let at = action.at.get(..19).unwrap_or(&action.at).replace('T', " ");
    html! {
        li .undone[action.undone_by.is_some()] {
            span .time { (at) }
            span .what { (capital(&action.what)) }
            @if let Some(by) = action.undone_by {
                span .state { "undone by " (by) }
            } @else {
                form method="post" action="/undo" {
                    input type="hidden" name="action" value=(action.action);
                    button type="submit" aria-label={ "Undo action " (action.action) } { "Undo" }
                }
            }
        }
    }
}
