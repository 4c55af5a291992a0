//! Which page or action an address means.

mod act;
mod check;
mod enter;
mod files;

use std::path::PathBuf;
use std::sync::{Arc, Mutex};

use hyper::StatusCode;
use jumpseat_entries::Entry;
use jumpseat_logbook::{Action, LogError, Logbook, Search};

pub(crate) use check::Remark;

use crate::http::{Guard, Method, Reply, Request};
use crate::page;
use crate::shelf::{Open, Shelf};
use crate::sound::Sounds;
use crate::view::Shown;
use crate::{Desk, Trouble};

/// What the pages are made from.
pub(crate) struct House {
    desk: Arc<dyn Desk>,
    guard: Guard,
    shelf: Shelf,
    sounds: Sounds,
    /// Files that were exported since the start, to be fetched again.
    exported: Mutex<Vec<PathBuf>>,
}

impl std::fmt::Debug for House {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // Not the secrets.
        f.debug_struct("House").finish_non_exhaustive()
    }
}

impl House {
    pub(crate) fn new(desk: Arc<dyn Desk>, guard: Guard) -> Self {
        Self {
            desk,
            guard,
            shelf: Shelf::default(),
            sounds: Sounds::default(),
            exported: Mutex::default(),
        }
    }

    pub(crate) fn guard(&self) -> &Guard {
        &self.guard
    }

    /// Has a trip and its pictures ready before somebody asks for them. What fails
    /// here fails again, and is told, when the page is looked at.
    pub(crate) fn prepare(&self, trip: &str) {
        let _ = crate::sound::prepare(&*self.desk, &self.shelf, trip);
    }

    fn open(&self, trip: &str) -> Result<Arc<Open>, Problem> {
        self.shelf
            .open(&*self.desk, trip)?
            .ok_or_else(|| Problem::Missing("There is no trip of that name in the library.".into()))
    }

    fn logbook(&self) -> Result<Logbook, Problem> {
        Ok(self.desk.logbook()?)
    }
}

/// Why there is no page.
pub(crate) enum Problem {
    /// What was asked for is not there.
    Missing(String),
    /// It changed meanwhile; nothing was done.
    Changed(String),
    /// What was sent makes no sense.
    Wrong(String),
    /// It did not work.
    Failed(String),
}

impl From<Trouble> for Problem {
    fn from(trouble: Trouble) -> Self {
        Self::Failed(trouble.0)
    }
}

impl From<LogError> for Problem {
    fn from(error: LogError) -> Self {
        let words = error.to_string();
        match error {
            LogError::NoEntry { .. } | LogError::NoAction { .. } => Self::Missing(words),
            LogError::Stale { .. }
            | LogError::Undone { .. }
            | LogError::ChangedSince { .. }
            | LogError::NotJoined { .. }
            | LogError::NotParted { .. } => Self::Changed(words),
            _ => Self::Failed(words),
        }
    }
}

impl Problem {
    pub(crate) fn told(self) -> (StatusCode, String) {
        match self {
            Self::Missing(words) => (StatusCode::NOT_FOUND, words),
            Self::Changed(words) => (StatusCode::CONFLICT, words),
            Self::Wrong(words) => (StatusCode::BAD_REQUEST, words),
            Self::Failed(words) => (StatusCode::INTERNAL_SERVER_ERROR, words),
        }
    }
}

/// The reply to a request that passed the guard.
pub(crate) fn reply(house: &House, request: &Request) -> Reply {
    let path: Vec<&str> = request.path.iter().map(String::as_str).collect();
    let reply = match request.method {
        Method::Get => look(house, request, &path),
        Method::Post => act::act(house, request, &path),
    };
    reply.unwrap_or_else(|problem| {
        let (status, words) = problem.told();
        Reply::page(status, page::trouble(&words))
    })
}

fn look(house: &House, request: &Request, path: &[&str]) -> Result<Reply, Problem> {
    let page = match path {
        ["enter", link] => return Ok(enter::enter(house, request, link)),
        ["check"] => return check::check(house, request),
        ["sound", trip, direction, span, form] => {
            return files::sound(house, request, (trip, direction, span), form);
        }
        ["picture", trip, direction, span] => {
            return files::picture(house, request, (trip, direction, span));
        }
        ["exported", index] => return files::exported(house, index),
        [name] if page::asset(name).is_some() => return files::asset(request, name),
        [] => trips(house)?,
        ["trip", name] => trip(house, name)?,
        ["entry", number] => entry(house, number, None)?,
        ["history"] => {
            let logbook = house.logbook()?;
            page::history(&logbook.actions(200)?, last(&logbook)?.as_ref())
        }
        ["export"] => {
            let logbook = house.logbook()?;
            page::export(request.query("trip"), last(&logbook)?.as_ref())
        }
        _ => return Err(Problem::Missing("There is no such page.".into())),
    };
    Ok(Reply::page(StatusCode::OK, page))
}

fn trips(house: &House) -> Result<maud::Markup, Problem> {
    let logbook = house.logbook()?;
    let mut lines = Vec::new();
    for folder in house.desk.trips()?.iter().rev() {
        let name = crate::shelf::name_of(folder);
        let (all, confirmed) = logbook.count(&name)?;
        let entries = logbook.search(&Search {
            last: Some(1),
            ..Search::of(jumpseat_logbook::Filter::Trip(&name))
        })?;
        let when = entries.first().and_then(on);
        lines.push(page::TripLine {
            name,
            when,
            all,
            confirmed,
        });
    }
    Ok(page::trips(
        &lines,
        last(&logbook)?.as_ref(),
        &house.desk.command(),
    ))
}

fn on(entry: &Entry) -> Option<chrono::DateTime<chrono::Utc>> {
    let contact = entry.contact.as_ref().and_then(|contact| contact.on);
    contact.or_else(|| entry.draft.as_ref()?.on.value)
}

fn trip(house: &House, name: &str) -> Result<maud::Markup, Problem> {
    let open = house.open(name)?;
    let logbook = house.logbook()?;
    let shown = shown(house, &logbook, name)?;
    Ok(page::trip(
        name,
        &open.glance,
        &shown,
        last(&logbook)?.as_ref(),
    ))
}

/// The entries of a trip in order of time.
fn shown(house: &House, logbook: &Logbook, trip: &str) -> Result<Vec<Shown>, Problem> {
    let own = house.desk.own()?;
    let entries = logbook.entries(&jumpseat_logbook::Filter::Trip(trip))?;
    Ok(entries.iter().map(|entry| Shown::of(entry, &own)).collect())
}

/// One entry; `wrong` is what kept it from being confirmed.
fn entry(house: &House, number: &str, wrong: Option<&str>) -> Result<maud::Markup, Problem> {
    let number: i64 = number
        .parse()
        .map_err(|_| Problem::Missing("An entry has a number.".into()))?;
    let logbook = house.logbook()?;
    let entry = logbook.entry(number)?;
    let seen = logbook.seen(number)?;
    let own = house.desk.own()?;
    let open = match &entry.trip {
        // An entry is shown without its sound when the trip is gone.
        Some(trip) => house.shelf.open(&*house.desk, trip).ok().flatten(),
        None => None,
    };
    let beside = match &entry.trip {
        Some(trip) => shown(house, &logbook, trip)?,
        None => Vec::new(),
    };
    let at = beside.iter().position(|other| other.number == number);
    let near = |step: isize| {
        let index = at?.checked_add_signed(step)?;
        let other = beside.get(index)?;
        Some((other, logbook.seen(other.number).ok()?))
    };
    let view = page::EntryView {
        shown: Shown::of(&entry, &own),
        entry: &entry,
        seen,
        open: open.as_deref(),
        before: near(-1),
        after: near(1),
        left: beside.iter().filter(|other| other.state.is_open()).count(),
        check: check::words(house, &logbook, &entry, None)?,
        wrong,
        command: house.desk.command(),
    };
    Ok(page::entry(&view, last(&logbook)?.as_ref()))
}

/// What a person did last and can take back.
fn last(logbook: &Logbook) -> Result<Option<Action>, LogError> {
    let actions = logbook.actions(200)?;
    Ok(actions.into_iter().find(|action| {
        action.who == "person" && action.undoes.is_none() && action.undone_by.is_none()
    }))
}
