//! The form of an entry: its fields, and the buttons that decide about it.

use jumpseat_entries::ContactField;
use maud::{Markup, html};

use super::entry_page::EntryPage;
use super::wording::{capital, percent, sureness};
use crate::view::{CallSignRemark, EntryState, FieldView};

pub(super) fn form(view: &EntryPage<'_>) -> Markup {
    let shown = &view.shown;
    let (main, more): (Vec<&FieldView>, Vec<&FieldView>) =
        shown.values.iter().partition(|value| value.form().in_view);
    let typed = more.iter().any(|value| value.text != value.before);
    html! {
        form #decide method="post" action={ "/entry/" (shown.number) "/confirm" }
            data-entry=(shown.number) autocomplete="off" {
            input type="hidden" name="seen" value=(view.seen);
            @for value in main { (field(value, view)) }
            details open[typed] {
                summary { "Time, frequency, place, remarks" }
                @for value in more { (field(value, view)) }
            }
            div .decide {
                button .primary #confirm type="submit" {
                    @if shown.state == EntryState::Confirmed { "Save changes " } @else { "Confirm " }
                    kbd { "Enter" }
                }
                @if shown.state != EntryState::Later && shown.state != EntryState::Confirmed {
                    (decision("later", "Later", "L", view))
                }
                @if shown.state == EntryState::NotAContact {
                    (decision("again", "Decide again", "X", view))
                } @else {
                    (decision("not", "Not a contact", "X", view))
                }
            }
        }
        p .hint { kbd { "Esc" } " turns the letters into keys, " kbd { "E" } " goes back to the call sign" }
        (join(view))
        @if shown.state != EntryState::NotAContact { (reject(view)) }
    }
}

/// Asks before a key calls the entry no contact: the letter may be meant for a call sign.
fn reject(view: &EntryPage<'_>) -> Markup {
    html! {
        dialog #reject aria-labelledby="reject-title" {
            h2 #reject-title {
                "Entry " (view.shown.number)
                @if let Some(call) = &view.shown.call { ", " (call) }
                ": not a contact?"
            }
            form method="dialog" {
                button type="submit" autofocus { "Keep it " kbd { "Enter" } }
                button type="button" #reject-yes { "Not a contact " kbd { "Delete" } }
            }
        }
    }
}

fn decision(action: &str, words: &str, key: &str, view: &EntryPage<'_>) -> Markup {
    let number = view.shown.number;
    html! {
        button type="submit" id=(action) formaction={ "/entry/" (number) "/" (action) } formnovalidate {
            (words) " " kbd { (key) }
        }
    }
}

/// Joining with the next entry has a form of its own.
fn join(view: &EntryPage<'_>) -> Markup {
    let drafted = view.entry.draft.is_some();
    html! {
        @if let (true, Some((after, seen))) = (drafted, view.after) {
            form .join method="post" action={ "/entry/" (view.shown.number) "/join" } {
                input type="hidden" name="seen" value=(view.seen);
                input type="hidden" name="other" value=(after.number);
                input type="hidden" name="other_seen" value=(seen);
                button #join type="submit" {
                    "Join with entry " (after.number)
                    @if let Some(call) = &after.call { ", " (call) }
                    " " kbd { "J" }
                }
            }
        }
    }
}

fn field(value: &FieldView, view: &EntryPage<'_>) -> Markup {
    let key = value.field.key();
    let is_call = value.field == ContactField::Call;
    let notes = format!("{key}-notes");
    html! {
        div .field.typed[value.text != value.before] data-word=(key) {
            label for=(key) { (capital(value.field.label())) (value.form().unit) }
            @if let (Some(p), false) = (value.probability, value.before.is_empty()) {
                span .sureness.(sureness(p)) { (percent(p)) }
            }
            input id=(key) name=(key) value=(value.text) data-before=(value.before)
                type="text" autofocus[is_call] aria-describedby=(notes) spellcheck="false" autocapitalize=(if is_call { "characters" } else { "off" })
                enterkeyhint="done" placeholder=[value.form().example];
            div .notes id=(notes) {
                @if is_call { (remarks(&view.check)) }
                @for doubt in &value.doubts { p .doubt { (doubt) } }
            }
            (choices(value))
        }
    }
}

/// Remarks on the call sign; the script keeps them up to date.
fn remarks(check: &[CallSignRemark]) -> Markup {
    html! {
        div role="status" aria-label="About this call sign" {
            ul #remarks { @for remark in check { li .(remark.kind) { (remark.text) } } }
        }
    }
}

/// Other values that were heard, each with a key.
fn choices(value: &FieldView) -> Markup {
    html! {
        @if value.choices.len() > 1 {
            ul .choices aria-label={ "Other values of the " (value.field.label()) } {
                @for (index, choice) in value.choices.iter().take(9).enumerate() {
                    li {
                        button type="button" data-field=(value.field.key()) data-text=(choice.text)
                            aria-pressed=(if choice.text == value.text { "true" } else { "false" }) {
                            kbd { (index + 1) } " " (choice.text)
                            " " span .sureness.(sureness(choice.probability)) { (percent(choice.probability)) }
                        }
                    }
                }
            }
        }
    }
}
