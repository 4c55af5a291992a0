//! A reply, with the headers that make the browser forbid what no page needs.

use http_body_util::Full;
use hyper::body::Bytes;
use hyper::header::{HeaderName, HeaderValue};
use hyper::{Response, StatusCode};
use maud::Markup;
use serde::Serialize;

use super::ReviewRequest;

/// Only our own files, no inline script or style, no frame, and no text that
/// becomes markup in the script (where the browser knows trusted types).
const CONTENT_SECURITY_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; \
     media-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; \
     frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types 'none'";

/// The usual headers of every reply. The referrer stays within the page, so that
/// the browser names the origin of what is posted.
const USUAL_HEADERS: [(&str, &str); 7] = [
    ("content-security-policy", CONTENT_SECURITY_POLICY),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    ("referrer-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    (
        "permissions-policy",
        "camera=(), microphone=(), geolocation=(), payment=()",
    ),
];

/// What goes back to the browser.
#[derive(Debug, Clone)]
pub(crate) struct ReviewReply {
    status: StatusCode,
    kind: &'static str,
    body: Vec<u8>,
    more: Vec<(&'static str, String)>,
}

impl ReviewReply {
    pub(crate) fn new(status: StatusCode, kind: &'static str, body: Vec<u8>) -> Self {
        Self {
            status,
            kind,
            body,
            more: Vec::new(),
        }
    }

    /// A page. Pages change with every decision and are never cached.
    pub(crate) fn page(status: StatusCode, page: Markup) -> Self {
        let body = page.into_string().into_bytes();
        Self::new(status, "text/html; charset=utf-8", body).with_header("cache-control", "no-store")
    }

    /// A value for the page's script.
    pub(crate) fn json(status: StatusCode, value: &impl Serialize) -> Self {
        // What we send are plain structures of texts and numbers.
        let body = serde_json::to_vec(value).unwrap_or_default();
        Self::new(status, "application/json", body).with_header("cache-control", "no-store")
    }

    /// A redirect, to be followed with GET.
    pub(crate) fn redirect(to: &str) -> Self {
        Self::new(StatusCode::SEE_OTHER, "text/plain", Vec::new())
            .with_header("location", to)
            .with_header("cache-control", "no-store")
    }

    /// Plain text.
    pub(crate) fn text(status: StatusCode, words: &str) -> Self {
        Self::new(status, "text/plain; charset=utf-8", words.into())
            .with_header("cache-control", "no-store")
    }

    /// A body with a tag: sent once, then only if the tag changed.
    pub(crate) fn tagged(
        request: &ReviewRequest,
        kind: &'static str,
        tag: &str,
        body: Vec<u8>,
    ) -> Self {
        let tag = format!("\"{tag}\"");
        let reply = if request.has_tag(&tag) {
            Self::new(StatusCode::NOT_MODIFIED, kind, Vec::new())
        } else {
            Self::new(StatusCode::OK, kind, body)
        };
        reply
            .with_header("etag", tag)
            .with_header("cache-control", "private, no-cache")
    }

    /// The stretch of `length` bytes that was asked for; `read` gives bytes from the
    /// first to before the second number. At most `most` are sent at once to who asks
    /// for a stretch: the browser asks for the next when it needs it.
    pub(crate) fn byte_range<E>(
        request: &ReviewRequest,
        kind: &'static str,
        length: u64,
        most: u64,
        read: impl FnOnce(u64, u64) -> Result<Vec<u8>, E>,
    ) -> Result<Self, E> {
        let reply = match request.range(length) {
            None => Self::new(StatusCode::OK, kind, read(0, length)?),
            Some(None) => Self::new(StatusCode::RANGE_NOT_SATISFIABLE, kind, Vec::new())
                .with_header("content-range", format!("bytes */{length}")),
            Some(Some(range)) => {
                let (from, last) = range.into_inner();
                let last = last.min(from.saturating_add(most.saturating_sub(1)));
                Self::new(StatusCode::PARTIAL_CONTENT, kind, read(from, last + 1)?)
                    .with_header("content-range", format!("bytes {from}-{last}/{length}"))
            }
        };
        Ok(reply
            .with_header("accept-ranges", "bytes")
            .with_header("cache-control", "private, max-age=3600"))
    }

    /// With one header more.
    pub(crate) fn with_header(mut self, name: &'static str, value: impl Into<String>) -> Self {
        self.more.push((name, value.into()));
        self
    }

    pub(super) fn into_response(self) -> Response<Full<Bytes>> {
        let mut response = Response::new(Full::new(Bytes::from(self.body)));
        *response.status_mut() = self.status;
        let headers = response.headers_mut();
        for (name, value) in USUAL_HEADERS {
            headers.insert(
                HeaderName::from_static(name),
                HeaderValue::from_static(value),
            );
        }
        headers.insert("content-type", HeaderValue::from_static(self.kind));
        for (name, value) in self.more {
            if let Ok(value) = HeaderValue::from_str(&value) {
                headers.insert(HeaderName::from_static(name), value);
            }
        }
        response
    }
}
