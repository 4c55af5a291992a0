//! The pages that a person looks at.

use jumpseat_entries::Entry;
use jumpseat_logbook::{EntrySearch, Logbook, LogbookAction, LogbookError};

use super::check;
use crate::page;
use crate::site::{PageError, ReviewSite};
use crate::view::EntryView;

pub(super) fn trips(site: &ReviewSite) -> Result<maud::Markup, PageError> {
    let logbook = site.logbook()?;
    let mut lines = Vec::new();
    for folder in site.backend.trips()?.iter().rev() {
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
        &site.backend.command(),
    ))
}

pub(super) fn trip(site: &ReviewSite, name: &str) -> Result<maud::Markup, PageError> {
    let open = site.open(name)?;
    let logbook = site.logbook()?;
    let shown = shown(site, &logbook, name)?;
    Ok(page::trip(
        name,
        &open.glance,
        &shown,
        last_undoable(&logbook)?.as_ref(),
    ))
}

/// The entries of a trip in order of time.
pub(super) fn shown(
    site: &ReviewSite,
    logbook: &Logbook,
    trip: &str,
) -> Result<Vec<EntryView>, PageError> {
    let own = site.backend.own()?;
    let entries = logbook.entries(&jumpseat_logbook::EntryFilter::Trip(trip))?;
    Ok(entries
        .iter()
        .map(|entry| EntryView::from_entry(entry, &own))
        .collect())
}

/// One entry; `wrong` says why it was not confirmed.
pub(super) fn entry(
    site: &ReviewSite,
    number: &str,
    wrong: Option<&str>,
) -> Result<maud::Markup, PageError> {
    let number: i64 = number
        .parse()
        .map_err(|_| PageError::Missing("That is not an entry number.".into()))?;
    let logbook = site.logbook()?;
    let entry = logbook.entry(number)?;
    let seen = logbook.seen(number)?;
    let own = site.backend.own()?;
    let open = match &entry.trip {
        // Without its trip an entry is shown without sound.
        Some(trip) => site.open_trips.open(&*site.backend, trip).ok().flatten(),
        None => None,
    };
    let beside = match &entry.trip {
        Some(trip) => shown(site, &logbook, trip)?,
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
        check: check::remarks_on(site, &logbook, &entry, None)?,
        wrong,
        command: site.backend.command(),
    };
    Ok(page::entry(&view, last_undoable(&logbook)?.as_ref()))
}

/// The last action of a person that can be undone.
pub(super) fn last_undoable(logbook: &Logbook) -> Result<Option<LogbookAction>, LogbookError> {
    let actions = logbook.actions(200)?;
    Ok(actions.into_iter().find(|action| {
        action.who == "person" && action.undoes.is_none() && action.undone_by.is_none()
    }))
}
