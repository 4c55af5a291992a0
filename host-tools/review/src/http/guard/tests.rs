use super::*;
use hyper::header::HeaderValue;

const OWN: &str = "http://127.0.0.1:4100";

fn guard() -> Guard {
    Guard::new(4100).unwrap()
}

#[track_caller]
fn check(method: Method, headers: &[(&str, &str)], expected: Result<(), Refusal>) {
    let guard = guard();
    let mut map = HeaderMap::new();
    for (name, value) in headers {
        let value = value.replace("SESSION", &guard.session);
        let name = HeaderName::from_bytes(name.as_bytes()).unwrap();
        map.append(name, HeaderValue::from_str(&value).unwrap());
    }
    assert_eq!(guard.check(&map, method, false), expected, "{headers:?}");
}

#[test]
fn only_the_page_itself_passes() {
    let cookie = ("cookie", "other=1; jumpseat-4100=SESSION");
    let host = ("host", "127.0.0.1:4100");
    for (method, headers, expected) in [
        (Method::Get, &[host, cookie][..], Ok(())),
        (Method::Get, &[("host", "localhost:4100"), cookie], Ok(())),
        (Method::Post, &[host, cookie, ("origin", OWN)], Ok(())),
        (
            Method::Post,
            &[host, cookie, ("sec-fetch-site", "same-origin")],
            Ok(()),
        ),
        // A foreign name that was made to lead here (DNS rebinding).
        (
            Method::Get,
            &[("host", "evil.example:4100"), cookie],
            Err(Refusal::Host),
        ),
        (Method::Get, &[cookie], Err(Refusal::Host)),
        (Method::Get, &[host, host, cookie], Err(Refusal::Host)),
        (
            Method::Get,
            &[("host", "127.0.0.1"), cookie],
            Err(Refusal::Host),
        ),
        // Another site's page.
        (Method::Post, &[host, cookie], Err(Refusal::Origin)),
        (
            Method::Post,
            &[host, cookie, ("origin", "http://evil.example")],
            Err(Refusal::Origin),
        ),
        (
            Method::Post,
            &[host, cookie, ("origin", "null")],
            Err(Refusal::Origin),
        ),
        (
            Method::Post,
            &[host, cookie, ("origin", "http://127.0.0.1:4101")],
            Err(Refusal::Origin),
        ),
        (
            Method::Get,
            &[host, cookie, ("sec-fetch-site", "cross-site")],
            Err(Refusal::Origin),
        ),
        // Another browser, or another run of the server.
        (Method::Get, &[host], Err(Refusal::Stranger)),
        (
            Method::Get,
            &[host, ("cookie", "jumpseat-4100=guess")],
            Err(Refusal::Stranger),
        ),
        (
            Method::Get,
            &[host, ("cookie", "jumpseat-4101=SESSION")],
            Err(Refusal::Stranger),
        ),
    ] {
        check(method, headers, expected);
    }
}

#[test]
fn secrets_differ_and_are_long() {
    let (one, other) = (guard(), guard());
    assert_eq!(one.link.len(), 64);
    assert!(one.link != other.link && one.link != one.session);
    assert!(one.is_link(&one.link) && !one.is_link(&other.link) && !one.is_link(""));
}
