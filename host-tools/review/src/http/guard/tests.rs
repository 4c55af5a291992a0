use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

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
    let secrets = [one.secret().unwrap(), other.secret().unwrap()];
    assert!(secrets.iter().all(|secret| secret.len() == 64));
    assert!(secrets[0] != secrets[1] && secrets[0] != one.session);
    assert!(one.session != other.session);
}

/// What is kept with a link, and says when it is let go.
struct Told(Arc<AtomicBool>);

impl Drop for Told {
    fn drop(&mut self) {
        self.0.store(true, Ordering::SeqCst);
    }
}

#[test]
fn a_link_is_good_once_and_what_is_kept_with_it_goes_then() {
    let gone = || Arc::new(AtomicBool::new(false));
    let (guard, first, second) = (guard(), gone(), gone());
    guard.expect("first".into(), Told(first.clone()));
    guard.expect("second".into(), Told(second.clone()));
    let let_go = |one: &Arc<AtomicBool>| one.load(Ordering::SeqCst);
    assert!(!guard.take("") && !guard.take("third") && !let_go(&first));
    assert!(guard.take("first") && let_go(&first) && !let_go(&second));
    assert!(!guard.take("first"));
    guard.close();
    assert!(let_go(&second) && !guard.take("second"));
}
