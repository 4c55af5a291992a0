//! The parts of a request that the pages need.

use std::ops::RangeInclusive;

use hyper::HeaderMap;
use hyper::header::{IF_NONE_MATCH, RANGE};

/// What is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ReviewMethod {
    /// To look at something.
    Get,
    /// To change something.
    Post,
}

/// A request that passed the guard.
#[derive(Debug, Clone)]
pub(crate) struct ReviewRequest {
    pub(crate) method: ReviewMethod,
    /// The path's parts, decoded.
    pub(crate) path: Vec<String>,
    query: Vec<(String, String)>,
    form: Vec<(String, String)>,
    range: Option<String>,
    known: Option<String>,
    guest: bool,
}

impl ReviewRequest {
    pub(crate) fn new(
        method: ReviewMethod,
        path: &str,
        query: Option<&str>,
        headers: &HeaderMap,
        body: &[u8],
    ) -> Self {
        let text = |name| {
            let value = headers.get(name)?;
            value.to_str().ok().map(str::to_owned)
        };
        Self {
            method,
            path: parts(path),
            query: pairs(query.unwrap_or_default().as_bytes()),
            form: pairs(body),
            range: text(RANGE),
            known: text(IF_NONE_MATCH),
            guest: false,
        }
    }

    /// The same request, from a browser with access or without.
    pub(crate) fn with_guest(self, guest: bool) -> Self {
        Self { guest, ..self }
    }

    /// Whether it is from a browser with access.
    pub(crate) fn is_guest(&self) -> bool {
        self.guest
    }

    /// A value of the query.
    pub(crate) fn query(&self, name: &str) -> Option<&str> {
        find(&self.query, name)
    }

    /// A value of the form.
    pub(crate) fn form(&self, name: &str) -> Option<&str> {
        find(&self.form, name)
    }

    /// A whole number of the form.
    pub(crate) fn number(&self, name: &str) -> Option<i64> {
        self.form(name)?.parse().ok()
    }

    /// Whether the browser has the version with this tag.
    pub(crate) fn has_tag(&self, tag: &str) -> bool {
        self.known.as_deref() == Some(tag)
    }

    /// The one stretch of bytes that is asked for, of `length`: `None` for all,
    /// `Some(None)` for what is not there. Several stretches are all.
    pub(crate) fn range(&self, length: u64) -> Option<Option<RangeInclusive<u64>>> {
        let spec = self.range.as_deref()?.strip_prefix("bytes=")?;
        let (from, to) = spec.split_once('-').filter(|_| !spec.contains(','))?;
        let last = length.checked_sub(1);
        let wanted = if from.is_empty() {
            // The last so many.
            let many: u64 = to.parse().ok()?;
            length.saturating_sub(many)..=length.saturating_sub(1)
        } else {
            let to = if to.is_empty() {
                u64::MAX
            } else {
                to.parse().ok()?
            };
            from.parse().ok()?..=to
        };
        let (from, to) = wanted.into_inner();
        Some(match last {
            Some(last) if from <= last && from <= to => Some(from..=to.min(last)),
            _ => None,
        })
    }
}

fn find<'a>(pairs: &'a [(String, String)], name: &str) -> Option<&'a str> {
    let pair = pairs.iter().find(|(key, _)| key == name)?;
    Some(&pair.1)
}

fn pairs(text: &[u8]) -> Vec<(String, String)> {
    form_urlencoded::parse(text).into_owned().collect()
}

/// The parts of a path between its slashes, decoded. Characters that are special in a form
/// are plain in a path.
fn parts(path: &str) -> Vec<String> {
    let decode = |part: &str| {
        let part = part.replace('+', "%2B");
        let part = part.replace('&', "%26").replace('=', "%3D");
        form_urlencoded::parse(part.as_bytes())
            .next()
            .map(|(key, _)| key.into_owned())
            .unwrap_or_default()
    };
    path.split('/')
        .filter(|part| !part.is_empty())
        .map(decode)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn request(range: &str) -> ReviewRequest {
        let mut headers = HeaderMap::new();
        headers.insert(RANGE, range.parse().unwrap());
        ReviewRequest::new(
            ReviewMethod::Get,
            "/a%20b/c+d/%2e%2e/&/e&f=g=",
            Some("x=1+2"),
            &headers,
            b"",
        )
    }

    #[test]
    fn paths_are_taken_apart_before_they_are_decoded() {
        let request = request("bytes=0-");
        // "&" alone was an empty part once, as the fuzzer found.
        assert_eq!(request.path, ["a b", "c+d", "..", "&", "e&f=g="]);
        assert_eq!(request.query("x"), Some("1 2"));
    }

    #[test]
    fn ranges() {
        for (range, expected) in [
            ("bytes=0-", Some(Some(0..=99))),
            ("bytes=10-19", Some(Some(10..=19))),
            ("bytes=90-500", Some(Some(90..=99))),
            ("bytes=-10", Some(Some(90..=99))),
            ("bytes=-500", Some(Some(0..=99))),
            ("bytes=100-", Some(None)),
            ("bytes=20-10", Some(None)),
            ("bytes=0-1,5-6", None),
            ("bytes=x-", None),
            ("items=0-1", None),
        ] {
            assert_eq!(request(range).range(100), expected, "{range}");
        }
        assert_eq!(request("bytes=0-").range(0), Some(None));
    }
}
