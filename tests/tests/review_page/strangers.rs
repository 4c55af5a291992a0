//! Who is let in, and what every answer forbids.

use std::io::Write as _;
use std::net::TcpStream;
use std::time::{Duration, Instant};

use crate::home::{DEMO, ReviewedHome};
use crate::socket::{PageAnswer, PageVisitor, send};

/// What no answer may lack, with a part of its value.
const ALWAYS: [(&str, &str); 6] = [
    (
        "content-security-policy",
        "default-src 'none'; script-src 'self'",
    ),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    ("referrer-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
];

#[track_caller]
fn check(answer: &PageAnswer, status: u16, what: &str) {
    assert_eq!(answer.status, status, "{what}: {}", answer.text());
    for (name, part) in ALWAYS {
        let value = answer
            .header(name)
            .unwrap_or_else(|| panic!("{what}: no {name}"));
        assert!(value.contains(part), "{what}: {name}: {value}");
    }
    let policy = answer.header("content-security-policy").unwrap();
    assert!(
        !policy.contains("unsafe") && !policy.contains('*'),
        "{policy}"
    );
}

#[test]
fn only_who_came_by_the_link_sees_or_changes_anything() {
    let home = ReviewedHome::demo();
    let review = home.review(None);
    let guest = PageVisitor::guest(&review);
    let stranger = PageVisitor::stranger(&review);
    let before = home.log();
    let trip = format!("/trip/{DEMO}");
    let sound = format!("/sound/{DEMO}/rx/0-16000/raw.wav");
    let picture = format!("/picture/{DEMO}/rx/0-16000");
    let guessed = format!("/enter/{}", "0".repeat(64));
    let paths = [
        "/",
        &trip,
        "/entry/1",
        "/history",
        "/export",
        &sound,
        &picture,
        "/review.js",
    ];
    for path in paths {
        check(&guest.get(path), 200, path);
        check(&stranger.get(path), 403, path);
        // A foreign name that leads here (DNS rebinding), with the cookie and without.
        for host in [
            "evil.example",
            "127.0.0.1",
            "localhost.evil.example",
            "[::1]",
        ] {
            let mut elsewhere = guest.clone();
            elsewhere.host = format!("{host}:{}", review.port);
            if host == "127.0.0.1" {
                elsewhere.host = host.into();
            }
            check(&elsewhere.get(path), 403, &elsewhere.host);
        }
        let other_site = "Sec-Fetch-Site: cross-site\r\n";
        check(
            &guest.ask("GET", path, other_site, ""),
            403,
            "another site's page",
        );
    }
    check(&stranger.get(&guessed), 403, "a guessed link");
    check(&guest.get("/enter/"), 404, "no link at all");

    // Forms from anywhere else do nothing.
    let seen = guest.get("/entry/1").field("seen");
    let form = format!("seen={seen}");
    for action in [
        "/entry/1/not",
        "/entry/1/later",
        "/entry/1/confirm",
        "/entry/1/part",
    ] {
        check(&stranger.post(action, &form), 403, action);
        for origin in [
            "http://evil.example",
            "null",
            "http://127.0.0.1:1",
            "https://127.0.0.1",
        ] {
            let line = format!("Origin: {origin}\r\n");
            check(&guest.ask("POST", action, &line, &form), 403, origin);
        }
        check(
            &guest.ask("POST", action, "", &form),
            403,
            "a form of nowhere",
        );
    }
    check(&stranger.post("/undo", "action=1"), 403, "undo");
    check(
        &stranger.post("/export", "format=adif&trip="),
        403,
        "export",
    );
    // An action is not a link.
    check(&guest.get("/entry/1/not"), 404, "an action by GET");
    assert_eq!(home.log(), before);
    let exports = home.path().join("exports");
    assert!(!exports.exists());
}

#[test]
fn other_methods_other_paths_and_nonsense_get_an_answer_and_nothing_else() {
    let home = ReviewedHome::demo();
    let review = home.review(None);
    let guest = PageVisitor::guest(&review);
    for method in ["PUT", "DELETE", "OPTIONS", "TRACE", "PATCH", "PROPFIND"] {
        check(&guest.ask(method, "/", "", ""), 405, method);
    }
    let head = guest.ask("HEAD", "/", "", "");
    check(&head, 200, "HEAD");
    assert!(head.body.is_empty());
    for path in [
        "/../../../etc/passwd",
        "/%2e%2e/%2e%2e/etc/passwd",
        "/..%2f..%2f..%2fetc%2fpasswd",
        "/trip/..",
        "/trip/%2e%2e%2f%2e%2e",
        "/trip/../../station.toml",
        "/sound/../rx/0-100/raw.wav",
        "/sound/%2e%2e/rx/0-100/raw.wav",
        "/sound/trip-000001-3fa2c1/rx/0-100/..%2f..%2fraw.wav",
        "/sound/trip-000001-3fa2c1/rx/5-1/raw.wav",
        "/sound/trip-000001-3fa2c1/rx/0-99999999999999999999/raw.wav",
        "/sound/trip-000001-3fa2c1/rx/0-18446744073709551615/raw.wav",
        "/sound/trip-000001-3fa2c1/up/0-100/raw.wav",
        "/picture/%2Fetc%2Fpasswd/rx/0-100",
        "/exported/0",
        "/exported/..%2f0",
        "/exported/-1",
        "/entry/0",
        "/entry/-1",
        "/entry/99999999999999999999",
        "/entry/1%00",
        "/review.js%00",
        "/Cargo.toml",
        "//etc/passwd",
    ] {
        let answer = guest.get(path);
        check(&answer, 404, path);
        assert!(!answer.text().contains("root:"), "{path}");
    }
    // Forms that say nothing, too much, or what nobody asked.
    let seen = guest.get("/entry/1").field("seen");
    for (path, form, status) in [
        ("/entry/1/not", "x=1".to_owned(), 400),
        ("/entry/1/not", "seen=x".into(), 400),
        ("/entry/1/explode", format!("seen={seen}"), 404),
        ("/entry/77/not", "seen=1".into(), 404),
        ("/entry/1/part", format!("seen={seen}&over=99"), 400),
        ("/entry/1/part", format!("seen={seen}&over=-1"), 400),
        ("/entry/1/join", format!("seen={seen}"), 400),
        ("/entry/1/say", format!("seen={seen}&word=trip&text=x"), 400),
        ("/undo", "action=999".into(), 404),
        ("/export", "format=exe&trip=".into(), 400),
        (
            "/entry/1/confirm",
            format!("seen={seen}&call=%3Cscript%3E"),
            422,
        ),
    ] {
        check(&guest.post(path, &form), status, path);
    }
}

#[test]
fn slow_and_enormous_requests_leave_the_page_usable() {
    let home = ReviewedHome::demo();
    let review = home.review(None);
    let guest = PageVisitor::guest(&review);
    // Many that begin to ask and never end, some in the middle of a form.
    let mut slow = Vec::new();
    for index in 0..40 {
        let mut stream = TcpStream::connect(("127.0.0.1", review.port)).unwrap();
        let begun = if index % 2 == 0 {
            "GET / HTTP/1.1\r\nHost: ".to_owned()
        } else {
            let (host, cookie) = (&guest.host, &guest.always);
            format!(
                "POST /undo HTTP/1.1\r\nHost: {host}\r\n{cookie}Origin: http://{host}\r\nContent-Length: 99\r\n\r\nact"
            )
        };
        stream.write_all(begun.as_bytes()).unwrap();
        slow.push(stream);
    }
    let begin = Instant::now();
    check(&guest.get("/entry/1"), 200, "with forty that are slow");
    assert!(begin.elapsed() < Duration::from_secs(5));
    // As much as a parser may be asked to hold, and more.
    let much = "a".repeat(1 << 20);
    check(
        &guest.post("/entry/1/say", &format!("seen=1&text={much}")),
        413,
        "a form of 1 MB",
    );
    for request in [
        format!("GET /{much} HTTP/1.1\r\nHost: {}\r\n\r\n", guest.host),
        format!(
            "GET / HTTP/1.1\r\nHost: {}\r\nX: {much}\r\n\r\n",
            guest.host
        ),
        format!("GET / HTTP/1.1\r\n{}\r\n", "X: y\r\n".repeat(10_000)),
        "GET / HTTP/9.9\r\n\r\n".into(),
        "\0\u{1}\u{2}\r\n\r\n".into(),
        format!(
            "POST /undo HTTP/1.1\r\nHost: {}\r\nContent-Length: -1\r\n\r\n",
            guest.host
        ),
    ] {
        let answer = send(review.port, request.as_bytes());
        assert!(
            answer.status == 0 || answer.status >= 400,
            "{}",
            answer.status
        );
    }
    check(&guest.get("/entry/1"), 200, "afterwards");
    drop(slow);
    let usage = review.usage().unwrap();
    assert!(usage.peak_mib < 200.0, "{} MiB", usage.peak_mib);
}
