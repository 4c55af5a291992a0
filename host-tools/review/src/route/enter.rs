//! The links that let a browser in.

use hyper::StatusCode;

use crate::http::{ReviewReply, ReviewRequest};
use crate::page;
use crate::site::ReviewSite;

/// Gives the cookie to who has a link's secret, and leads to the first page. Not with a
/// redirect: after one from elsewhere the browser would keep the cookie back. A browser
/// that has the cookie already is led on and leaves the link as it is.
pub(super) fn enter(site: &ReviewSite, request: &ReviewRequest, link: &str) -> ReviewReply {
    let to = match request.query("trip") {
        Some(trip) => page::trip_path(trip),
        None => "/".to_owned(),
    };
    if request.is_guest() {
        return ReviewReply::page(StatusCode::OK, page::enter(&to));
    }
    if !site.guard().use_link(link) {
        let words = "This link was used already, or is of another run of `jumpseat review`: each \
             lets one browser in, once. Run `jumpseat review` in another terminal for a new one.";
        return ReviewReply::page(StatusCode::FORBIDDEN, page::trouble(words));
    }
    ReviewReply::page(StatusCode::OK, page::enter(&to))
        .with_header("set-cookie", site.guard().cookie())
}
