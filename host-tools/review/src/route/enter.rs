//! The secret links that give a browser access.

use hyper::StatusCode;

use crate::http::{ReviewReply, ReviewRequest};
use crate::page;
use crate::site::ReviewSite;

/// Gives the cookie to a browser that has the secret of a link, and leads to the first
/// page. Not with a redirect: after one from another site the browser would not send the
/// cookie. A browser that has the cookie already is sent on without using up the link.
pub(super) fn enter(site: &ReviewSite, request: &ReviewRequest, link: &str) -> ReviewReply {
    let to = match request.query("trip") {
        Some(trip) => page::trip_path(trip),
        None => "/".to_owned(),
    };
    if request.is_guest() {
        return ReviewReply::page(StatusCode::OK, page::enter(&to));
    }
    if !site.guard().use_link(link) {
        let words = "This link was used already, or belongs to another run of `jumpseat review`: \
             each gives access to one browser, once. Run `jumpseat review` in another terminal for \
             a new one.";
        return ReviewReply::page(StatusCode::FORBIDDEN, page::trouble(words));
    }
    ReviewReply::page(StatusCode::OK, page::enter(&to))
        .with_header("set-cookie", site.guard().cookie())
}
