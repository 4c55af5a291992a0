//! Any request to the review page: a line each for path and query, headers as lines, an empty
//! line, a body. Nobody passes the guard without the cookie of this run, and a stretch of
//! bytes lies within what there is. The page's own files are taken in here, because its crate
//! shows nothing of them.
#![no_main]

use hyper::HeaderMap;
use hyper::header::{HeaderName, HeaderValue};
use libfuzzer_sys::fuzz_target;

#[path = "../../../host-tools/review/src/error.rs"]
mod error;
#[path = "."]
mod http {
    #[path = "../../../host-tools/review/src/http/guard.rs"]
    pub(crate) mod guard;
    #[path = "../../../host-tools/review/src/http/request.rs"]
    pub(crate) mod request;

    pub(crate) use request::ReviewMethod;
}

use error::ReviewError;
use http::guard::AccessGuard;
use http::request::{ReviewMethod, ReviewRequest};

/// The headers and the body of what was sent; lines that are no header are left out, as
/// hyper refuses them.
fn taken_apart(bytes: &[u8]) -> (HeaderMap, &[u8]) {
    let mut headers = HeaderMap::new();
    let mut rest = bytes;
    while let Some(end) = rest.iter().position(|&byte| byte == b'\n') {
        let line = &rest[..end];
        rest = &rest[end + 1..];
        if line.is_empty() {
            break;
        }
        let Some(colon) = line.iter().position(|&byte| byte == b':') else {
            continue;
        };
        let name = HeaderName::from_bytes(&line[..colon]);
        let value = HeaderValue::from_bytes(line[colon + 1..].trim_ascii());
        if let (Ok(name), Ok(value)) = (name, value) {
            headers.append(name, value);
        }
    }
    (headers, rest)
}

fuzz_target!(|bytes: &[u8]| {
    let mut lines = bytes.splitn(3, |&byte| byte == b'\n');
    let (path, query) = (lines.next().unwrap_or_default(), lines.next().unwrap_or_default());
    let (headers, body) = taken_apart(lines.next().unwrap_or_default());
    let (path, query) = (String::from_utf8_lossy(path), String::from_utf8_lossy(query));
    let guard: Result<AccessGuard, ReviewError> = AccessGuard::new(8421);
    let guard = guard.expect("the system has random numbers");
    for method in [ReviewMethod::Get, ReviewMethod::Post] {
        assert!(guard.check(&headers, method, false).is_err(), "a stranger came in");
        // By the secret link anyone may come who speaks to this host and from no other page.
        if guard.check(&headers, method, true).is_ok() {
            let host = headers.get("host").and_then(|host| host.to_str().ok());
            assert!(matches!(host, Some("127.0.0.1:8421" | "localhost:8421")));
        }
        let request = ReviewRequest::new(method, &path, Some(&query), &headers, body);
        assert!(request.path.iter().all(|part| !part.is_empty()));
        for name in ["call", "seen", "number", "from", "to"] {
            let _ = (request.query(name), request.form(name), request.number(name));
        }
        for length in [0, 1, 1_000, u64::MAX] {
            if let Some(Some(range)) = request.range(length) {
                assert!(range.start() <= range.end() && *range.end() < length, "{range:?} of {length}");
            }
        }
    }
});
