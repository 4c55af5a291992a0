//! Carries out what a person decides. Every action is in the logbook before its reply is
//! sent.

use std::sync::PoisonError;

use hyper::StatusCode;
use jumpseat_entries::resolve::TripInstants;
use jumpseat_entries::{ContactField, Edits, EntryVerdict, edited_contact};
use jumpseat_logbook::Logbook;
use serde::Serialize;

use super::pages::{entry, last_undoable, shown};
use crate::http::{ReviewReply, ReviewRequest};
use crate::page;
use crate::site::{PageError, ReviewSite};
use crate::view::{EntryState, EntryView};

pub(super) fn post(
    site: &ReviewSite,
    request: &ReviewRequest,
    path: &[&str],
) -> Result<ReviewReply, PageError> {
    match path {
        ["entry", number, what] => {
            let number: i64 = number
                .parse()
                .map_err(|_| PageError::Missing("That is not an entry number.".into()))?;
            let seen = request
                .number("seen")
                .ok_or_else(|| PageError::Wrong("The page is out of date; reload it.".into()))?;
            on_entry(site, request, (number, seen), what)
        }
        ["undo"] => undo(site, request),
        ["export"] => export(site, request),
        _ => Err(PageError::Missing("There is no such action.".into())),
    }
}

fn on_entry(
    site: &ReviewSite,
    request: &ReviewRequest,
    (number, seen): (i64, i64),
    what: &str,
) -> Result<ReviewReply, PageError> {
    let mut logbook = site.logbook()?;
    match what {
        "say" => return say(site, request, logbook, (number, seen)),
        "confirm" => return confirm(site, request, logbook, (number, seen)),
        "later" => logbook.decide(number, seen, Some(EntryVerdict::Later))?,
        "not" => logbook.decide(number, seen, Some(EntryVerdict::NotAContact))?,
        "again" => {
            logbook.decide(number, seen, None)?;
            return Ok(ReviewReply::redirect(&format!("/entry/{number}")));
        }
        "join" => {
            let missing = || PageError::Wrong("The page is out of date; reload it.".into());
            let other = request.number("other").ok_or_else(missing)?;
            let other_seen = request.number("other_seen").ok_or_else(missing)?;
            return join(logbook, (number, seen), (other, other_seen));
        }
        "part" => return part(site, request, logbook, (number, seen)),
        _ => return Err(PageError::Missing("There is no such action.".into())),
    }
    next(site, &logbook, number)
}

/// The reply to the page's script after an edit was kept.
#[derive(Serialize)]
struct KeptEditReply {
    seen: i64,
    trouble: Option<String>,
}

/// Keeps what is being typed into a field. A text that equals the draft's is dropped.
fn say(
    site: &ReviewSite,
    request: &ReviewRequest,
    mut logbook: Logbook,
    (number, seen): (i64, i64),
) -> Result<ReviewReply, PageError> {
    let field = request.form("word").and_then(ContactField::from_key);
    let field = field.ok_or_else(|| PageError::Wrong("Unknown field.".into()))?;
    let text = request.form("text").unwrap_or_default().trim();
    let entry = logbook.entry(number)?;
    let shown = EntryView::from_entry(&entry, &site.backend.own()?);
    let value = shown.values.iter().find(|value| value.field == field);
    let unchanged = value.is_some_and(|value| value.before == text);
    let kept_at = logbook.keep_edit(number, seen, field, (!unchanged).then_some(text));
    let reply = match kept_at.map_err(PageError::from) {
        Ok(seen) => ReviewReply::json(
            StatusCode::OK,
            &KeptEditReply {
                seen,
                trouble: None,
            },
        ),
        Err(problem) => {
            let (status, words) = problem.status_and_text();
            let trouble = Some(words);
            ReviewReply::json(status, &KeptEditReply { seen, trouble })
        }
    };
    Ok(reply)
}

/// Confirms the entry with the fields of the form.
fn confirm(
    site: &ReviewSite,
    request: &ReviewRequest,
    mut logbook: Logbook,
    (number, seen): (i64, i64),
) -> Result<ReviewReply, PageError> {
    let entry = logbook.entry(number)?;
    let own = site.backend.own()?;
    let shown = EntryView::from_entry(&entry, &own);
    let mut edits = Edits::new();
    for value in &shown.values {
        let typed = request.form(value.field.key()).map(str::trim);
        edits.insert(value.field, typed.unwrap_or(&value.text).to_owned());
    }
    match edited_contact(&entry, &own, &edits) {
        Ok((contact, _)) => {
            logbook.confirm_seen(number, Some(seen), &contact)?;
            next(site, &logbook, number)
        }
        Err(wrong) => {
            // What was typed is kept, so that only the wrong field is typed again.
            let mut seen = seen;
            for value in &shown.values {
                let typed = edits.get(&value.field).filter(|text| **text != value.text);
                if let Some(text) = typed {
                    seen = logbook.keep_edit(number, seen, value.field, Some(text))?;
                }
            }
            let words = format!("Not confirmed: {wrong}.");
            let page = entry_page(site, number, &words)?;
            Ok(ReviewReply::page(StatusCode::UNPROCESSABLE_ENTITY, page))
        }
    }
}

fn entry_page(site: &ReviewSite, number: i64, words: &str) -> Result<maud::Markup, PageError> {
    entry(site, &number.to_string(), Some(words))
}

/// Goes to the next open entry: the one after this, or else the first; entries that were
/// put off come last. If none is left, goes to the trip.
fn next(site: &ReviewSite, logbook: &Logbook, number: i64) -> Result<ReviewReply, PageError> {
    let Some(trip) = logbook.entry(number)?.trip else {
        return Ok(ReviewReply::redirect("/"));
    };
    let all = shown(site, logbook, &trip)?;
    let at = all.iter().position(|entry| entry.number == number);
    let (before, after) = all.split_at(at.map_or(0, |at| at + 1));
    let mut order = after
        .iter()
        .chain(before)
        .filter(|entry| entry.number != number);
    let open = order.clone().find(|entry| entry.state == EntryState::Open);
    let to = open.or_else(|| {
        let put_off = order.find(|entry| entry.state == EntryState::Later);
        // An entry that was just put off does not lead to another one that was.
        put_off.filter(|_| {
            all.iter()
                .all(|entry| entry.number != number || entry.state != EntryState::Later)
        })
    });
    Ok(ReviewReply::redirect(&match to {
        Some(entry) => format!("/entry/{}", entry.number),
        None => page::trip_path(&trip),
    }))
}

fn join(
    mut logbook: Logbook,
    (number, seen): (i64, i64),
    (other, other_seen): (i64, i64),
) -> Result<ReviewReply, PageError> {
    let (one, two) = (logbook.entry(number)?, logbook.entry(other)?);
    let (Some(first), Some(second)) = (&one.draft, &two.draft) else {
        return Err(PageError::Changed(
            "Only drafted entries can be joined.".into(),
        ));
    };
    if one.trip != two.trip {
        return Err(PageError::Changed(
            "Only entries of one trip can be joined.".into(),
        ));
    }
    let draft = jumpseat_entries::join(first, second);
    // The earlier one stays.
    let (stays, goes) = if first.on_s <= second.on_s {
        ((number, seen), (other, other_seen))
    } else {
        ((other, other_seen), (number, seen))
    };
    logbook.join(stays, goes, &draft)?;
    Ok(ReviewReply::redirect(&format!("/entry/{}", stays.0)))
}

fn part(
    site: &ReviewSite,
    request: &ReviewRequest,
    mut logbook: Logbook,
    (number, seen): (i64, i64),
) -> Result<ReviewReply, PageError> {
    let entry = logbook.entry(number)?;
    let over = request
        .number("over")
        .and_then(|over| usize::try_from(over).ok());
    let open = entry
        .trip
        .as_deref()
        .map(|trip| site.open(trip))
        .transpose()?;
    let pieces = entry.draft.as_ref().zip(over).and_then(|(draft, over)| {
        let trip = open.as_deref().map(|open| open as &dyn TripInstants);
        jumpseat_entries::split(draft, over, trip)
    });
    let (first, second) = pieces.ok_or_else(|| {
        PageError::Wrong("Choose the second over or a later one to take the entry apart.".into())
    })?;
    logbook.split(number, seen, (&first, &second))?;
    Ok(ReviewReply::redirect(&format!("/entry/{number}")))
}

/// Undoes an action and shows the entry that it changed.
fn undo(site: &ReviewSite, request: &ReviewRequest) -> Result<ReviewReply, PageError> {
    let action = request
        .number("action")
        .ok_or_else(|| PageError::Wrong("Unknown action.".into()))?;
    let mut logbook = site.logbook()?;
    let undone = logbook.undo(Some(action))?;
    for number in undone.entries {
        if logbook.entry(number).is_ok() {
            return Ok(ReviewReply::redirect(&format!("/entry/{number}")));
        }
    }
    Ok(ReviewReply::redirect("/history"))
}

fn export(site: &ReviewSite, request: &ReviewRequest) -> Result<ReviewReply, PageError> {
    let format = request.form("format").unwrap_or_default();
    let trip = request.form("trip").filter(|trip| !trip.is_empty());
    if !crate::EXPORT_FORMATS.iter().any(|(key, _)| *key == format) {
        return Err(PageError::Wrong("Choose a format.".into()));
    }
    let exported = site.backend.export(format, trip)?;
    let index = exported
        .file
        .as_ref()
        .filter(|file| file.is_file())
        .map(|file| {
            let files = site.exported.lock();
            let mut files = files.unwrap_or_else(PoisonError::into_inner);
            files.push(file.clone());
            files.len() - 1
        });
    let logbook = site.logbook()?;
    let last = last_undoable(&logbook)?;
    let page = page::exported(&exported, index, trip, last.as_ref());
    Ok(ReviewReply::page(StatusCode::OK, page))
}
