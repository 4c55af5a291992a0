use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use super::*;
use hyper::header::HeaderValue;

const OWN: &str = "http://127.0.0.1:4100";

fn guard() -> AccessGuard {
    AccessGuard::new(4100).unwrap()
}

#[track_caller]
fn check(method: ReviewMethod, headers: &[(&str, &str)], expected: Result<(), AccessRefusal>) {
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
        (ReviewMethod::Get, &[host, cookie][..], Ok(())),
        (
            ReviewMethod::Get,
            &[("host", "localhost:4100"), cookie],
            Ok(()),
        ),
        (ReviewMethod::Post, &[host, cookie, ("origin", OWN)], Ok(())),
        (
            ReviewMethod::Post,
            &[host, cookie, ("sec-fetch-site", "same-origin")],
            Ok(()),
        ),
        // A foreign name that was made to lead here (DNS rebinding).
        (
            ReviewMethod::Get,
            &[("host", "evil.example:4100"), cookie],
            Err(AccessRefusal::Host),
        ),
        (ReviewMethod::Get, &[cookie], Err(AccessRefusal::Host)),
        (
            ReviewMethod::Get,
            &[host, host, cookie],
            Err(AccessRefusal::Host),
        ),
        (
            ReviewMethod::Get,
            &[("host", "127.0.0.1"), cookie],
            Err(AccessRefusal::Host),
        ),
        // Another site's page.
        (
            ReviewMethod::Post,
            &[host, cookie],
            Err(AccessRefusal::Origin),
        ),
        (
            ReviewMethod::Post,
            &[host, cookie, ("origin", "http://evil.example")],
            Err(AccessRefusal::Origin),
        ),
        (
            ReviewMethod::Post,
            &[host, cookie, ("origin", "null")],
            Err(AccessRefusal::Origin),
        ),
        (
            ReviewMethod::Post,
            &[host, cookie, ("origin", "http://127.0.0.1:4101")],
            Err(AccessRefusal::Origin),
        ),
        (
            ReviewMethod::Get,
            &[host, cookie, ("sec-fetch-site", "cross-site")],
            Err(AccessRefusal::Origin),
        ),
        // Another browser, or another run of the server.
        (ReviewMethod::Get, &[host], Err(AccessRefusal::Stranger)),
        (
            ReviewMethod::Get,
            &[host, ("cookie", "jumpseat-4100=guess")],
            Err(AccessRefusal::Stranger),
        ),
        (
            ReviewMethod::Get,
            &[host, ("cookie", "jumpseat-4101=SESSION")],
            Err(AccessRefusal::Stranger),
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
struct DropFlag(Arc<AtomicBool>);

impl Drop for DropFlag {
    fn drop(&mut self) {
        self.0.store(true, Ordering::SeqCst);
    }
}

#[test]
fn a_link_is_good_once_and_what_is_kept_with_it_goes_then() {
    let gone = || Arc::new(AtomicBool::new(false));
    let (guard, first, second) = (guard(), gone(), gone());
    guard.add_link("first".into(), DropFlag(first.clone()));
    guard.add_link("second".into(), DropFlag(second.clone()));
    let let_go = |one: &Arc<AtomicBool>| one.load(Ordering::SeqCst);
    assert!(!guard.use_link("") && !guard.use_link("third") && !let_go(&first));
    assert!(guard.use_link("first") && let_go(&first) && !let_go(&second));
    assert!(!guard.use_link("first"));
    guard.close();
    assert!(let_go(&second) && !guard.use_link("second"));
}
