//! What was done, and how to take it back.

use jumpseat_logbook::Action;
use maud::{Markup, html};

use super::layout::Layout;
use super::words::capital;

pub(crate) fn history(actions: &[Action], last: Option<&Action>) -> Markup {
    let layout = Layout {
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

fn line(action: &Action) -> Markup {
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
