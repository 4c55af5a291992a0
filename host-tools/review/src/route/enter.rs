//! The first link.

use hyper::StatusCode;

use super::House;
use crate::http::{Reply, Request};
use crate::page;

/// Gives the cookie to who has the link's secret, and leads to the first page. Not
/// with a redirect: after one from elsewhere the browser would keep the cookie back.
pub(super) fn enter(house: &House, request: &Request, link: &str) -> Reply {
    if !house.guard().is_link(link) {
        let words = "This link is of another run of `jumpseat review`. Open the one that it \
             printed last.";
        return Reply::page(StatusCode::FORBIDDEN, page::trouble(words));
    }
    let to = match request.query("trip") {
        Some(trip) => page::trip_path(trip),
        None => "/".to_owned(),
    };
    Reply::page(StatusCode::OK, page::enter(&to)).with("set-cookie", house.guard().cookie())
}
