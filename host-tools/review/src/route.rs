//! Which page or action an address means.

mod actions;
mod check;
mod enter;
mod files;

use std::path::PathBuf;
use std::sync::{Arc, Mutex};

use hyper::StatusCode;
use jumpseat_entries::Entry;
use jumpseat_logbook::{EntrySearch, Logbook, LogbookAction, LogbookError};

pub(crate) use check::CallSignRemark;

use crate::http::{AccessGuard, ReviewMethod, ReviewReply, ReviewRequest};
use crate::open_trips::{OpenTrip, OpenTrips};
use crate::page;
use crate::sound::SoundCache;
use crate::view::EntryView;
use crate::{BackendError, ReviewBackend};

/// What the pages are made from.
pub(crate) struct ReviewSite {
    desk: Arc<dyn ReviewBackend>,
    guard: AccessGuard,
    shelf: OpenTrips,
    sounds: SoundCache,
    /// Files that were exported since the start, to be fetched again.
    exported: Mutex<Vec<PathBuf>>,
}

impl std::fmt::Debug for ReviewSite {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // Not the secrets.
        f.debug_struct("House").finish_non_exhaustive()
    }
}

impl ReviewSite {
    pub(crate) fn new(desk: Arc<dyn ReviewBackend>, guard: AccessGuard) -> Self {
        Self {
            desk,
            guard,
            shelf: OpenTrips::default(),
            sounds: SoundCache::default(),
            exported: Mutex::default(),
        }
    }

    pub(crate) fn guard(&self) -> &AccessGuard {
        &self.guard
    }

    /// Has a trip and its pictures ready before somebody asks for them. What fails
    /// here fails again, and is told, when the page is looked at.
    pub(crate) fn prepare(&self, trip: &str) {
        let _ = crate::sound::prepare(&*self.desk, &self.shelf, trip);
    }

    fn open(&self, trip: &str) -> Result<Arc<OpenTrip>, PageError> {
        self.shelf.open(&*self.desk, trip)?.ok_or_else(|| {
            PageError::Missing("There is no trip of that name in the library.".into())
        })
    }

    fn logbook(&self) -> Result<Logbook, PageError> {
        Ok(self.desk.logbook()?)
    }
}

/// Why there is no page.
pub(crate) enum PageError {
    /// What was asked for is not there.
    Missing(String),
    /// It changed meanwhile; nothing was done.
    Changed(String),
    /// What was sent makes no sense.
    Wrong(String),
    /// It did not work.
    Failed(String),
}

impl From<BackendError> for PageError {
    fn from(trouble: BackendError) -> Self {
        Self::Failed(trouble.0)
    }
}

impl From<LogbookError> for PageError {
    fn from(error: LogbookError) -> Self {
        let words = error.to_string();
        match error {
            LogbookError::NoEntry { .. } | LogbookError::NoAction { .. } => Self::Missing(words),
            LogbookError::Stale { .. }
            | LogbookError::Undone { .. }
            | LogbookError::ChangedSince { .. }
            | LogbookError::NotJoined { .. }
            | LogbookError::NotSplit { .. } => Self::Changed(words),
            _ => Self::Failed(words),
        }
    }
}

impl PageError {
    pub(crate) fn status_and_text(self) -> (StatusCode, String) {
        match self {
            Self::Missing(words) => (StatusCode::NOT_FOUND, words),
            Self::Changed(words) => (StatusCode::CONFLICT, words),
            Self::Wrong(words) => (StatusCode::BAD_REQUEST, words),
            Self::Failed(words) => (StatusCode::INTERNAL_SERVER_ERROR, words),
        }
    }
}

/// The reply to a request that passed the guard.
pub(crate) fn reply(house: &ReviewSite, request: &ReviewRequest) -> ReviewReply {
    let path: Vec<&str> = request.path.iter().map(String::as_str).collect();
    let reply = match request.method {
        ReviewMethod::Get => get(house, request, &path),
        ReviewMethod::Post => actions::post(house, request, &path),
    };
    reply.unwrap_or_else(|problem| {
        let (status, words) = problem.status_and_text();
        ReviewReply::page(status, page::trouble(&words))
    })
}

fn get(
    house: &ReviewSite,
    request: &ReviewRequest,
    path: &[&str],
) -> Result<ReviewReply, PageError> {
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
            page::history(&logbook.actions(200)?, last_undoable(&logbook)?.as_ref())
        }
        ["export"] => {
            let logbook = house.logbook()?;
            page::export(request.query("trip"), last_undoable(&logbook)?.as_ref())
        }
        _ => return Err(PageError::Missing("There is no such page.".into())),
    };
    Ok(ReviewReply::page(StatusCode::OK, page))
}

fn trips(house: &ReviewSite) -> Result<maud::Markup, PageError> {
    let logbook = house.logbook()?;
    let mut lines = Vec::new();
    for folder in house.desk.trips()?.iter().rev() {
        let name = crate::open_trips::name_of(folder);
        let (all, confirmed) = logbook.count_of_trip(&name)?;
        let entries = logbook.search(&EntrySearch {
            last: Some(1),
            ..EntrySearch::by_filter(jumpseat_logbook::EntryFilter::Trip(&name))
        })?;
        let when = entries.first().and_then(Entry::on);
        lines.push(page::TripListLine {
            name,
            when,
            all,
            confirmed,
        });
    }
    Ok(page::trips(
        &lines,
        last_undoable(&logbook)?.as_ref(),
        &house.desk.command(),
    ))
}

fn trip(house: &ReviewSite, name: &str) -> Result<maud::Markup, PageError> {
    let open = house.open(name)?;
    let logbook = house.logbook()?;
    let shown = shown(house, &logbook, name)?;
    Ok(page::trip(
        name,
        &open.glance,
        &shown,
        last_undoable(&logbook)?.as_ref(),
    ))
}

/// The entries of a trip in order of time.
fn shown(house: &ReviewSite, logbook: &Logbook, trip: &str) -> Result<Vec<EntryView>, PageError> {
    let own = house.desk.own()?;
    let entries = logbook.entries(&jumpseat_logbook::EntryFilter::Trip(trip))?;
    Ok(entries
        .iter()
        .map(|entry| EntryView::from_entry(entry, &own))
        .collect())
}

/// One entry; `wrong` is what kept it from being confirmed.
fn entry(house: &ReviewSite, number: &str, wrong: Option<&str>) -> Result<maud::Markup, PageError> {
    let number: i64 = number
        .parse()
        .map_err(|_| PageError::Missing("An entry has a number.".into()))?;
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
    let view = page::EntryPage {
        shown: EntryView::from_entry(&entry, &own),
        entry: &entry,
        seen,
        open: open.as_deref(),
        before: near(-1),
        after: near(1),
        left: beside.iter().filter(|other| other.state.is_open()).count(),
        check: check::remarks_on(house, &logbook, &entry, None)?,
        wrong,
        command: house.desk.command(),
    };
    Ok(page::entry(&view, last_undoable(&logbook)?.as_ref()))
}

/// What a person did last and can take back.
fn last_undoable(logbook: &Logbook) -> Result<Option<LogbookAction>, LogbookError> {
    let actions = logbook.actions(200)?;
    Ok(actions.into_iter().find(|action| {
        action.who == "person" && action.undoes.is_none() && action.undone_by.is_none()
    }))
}
