//! Finds the page or action of an address.

mod actions;
mod check;
mod enter;
mod files;
mod pages;

use hyper::StatusCode;

use crate::http::{ReviewMethod, ReviewReply, ReviewRequest};
use crate::page;
use crate::site::{PageError, ReviewSite};
use pages::{entry, last_undoable, trip, trips};

/// The reply to a request that passed the guard.
pub(crate) fn reply(site: &ReviewSite, request: &ReviewRequest) -> ReviewReply {
    let path: Vec<&str> = request.path.iter().map(String::as_str).collect();
    let reply = match request.method {
        ReviewMethod::Get => get(site, request, &path),
        ReviewMethod::Post => actions::post(site, request, &path),
    };
    reply.unwrap_or_else(|problem| {
        let (status, words) = problem.status_and_text();
        ReviewReply::page(status, page::trouble(&words))
    })
}

fn get(
    site: &ReviewSite,
    request: &ReviewRequest,
    path: &[&str],
) -> Result<ReviewReply, PageError> {
    let page = match path {
        ["enter", link] => return Ok(enter::enter(site, request, link)),
        ["check"] => return check::check(site, request),
        ["sound", trip, direction, span, form] => {
            return files::sound(site, request, (trip, direction, span), form);
        }
        ["picture", trip, direction, span] => {
            return files::picture(site, request, (trip, direction, span));
        }
        ["exported", index] => return files::exported(site, index),
        [name] if page::asset(name).is_some() => return files::asset(request, name),
        [] => trips(site)?,
        ["trip", name] => trip(site, name)?,
        ["entry", number] => entry(site, number, None)?,
        ["history"] => {
            let logbook = site.logbook()?;
            page::history(&logbook.actions(200)?, last_undoable(&logbook)?.as_ref())
        }
        ["export"] => {
            let logbook = site.logbook()?;
            page::export(request.query("trip"), last_undoable(&logbook)?.as_ref())
        }
        _ => return Err(PageError::Missing("There is no such page.".into())),
    };
    Ok(ReviewReply::page(StatusCode::OK, page))
}
