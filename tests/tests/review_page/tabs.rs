//! Several tabs on one entry, and a server that is killed.

use std::collections::HashSet;
use std::sync::{Arc, Barrier};

use jumpseat_tests::parts::BrowserWindow;

use crate::home::ReviewedHome;
use crate::socket::PageVisitor;

#[test]
fn of_two_tabs_one_decides_and_the_other_is_told() {
    let home = ReviewedHome::demo();
    let review = home.review(None);
    let one = PageVisitor::guest(&review);
    let other = one.clone();
    let (first, second) = (one.get("/entry/1"), other.get("/entry/1"));
    let (seen, outdated) = (first.field("seen"), second.field("seen"));
    assert_eq!(
        one.post("/entry/1/confirm", &format!("seen={seen}&name=Ruth"))
            .status,
        303
    );
    let decided = home.log();
    for action in ["not", "later", "again", "part", "confirm"] {
        let form = format!("seen={outdated}&over=2&name=Rudolf");
        let told = other.post(&format!("/entry/1/{action}"), &form);
        assert_eq!(told.status, 409, "{action}: {}", told.text());
        assert!(told.text().contains("role=\"alert\""), "{action}");
    }
    let typed = other.post(
        "/entry/1/say",
        &format!("seen={outdated}&word=name&text=Rudolf"),
    );
    assert_eq!(typed.status, 409);
    assert!(typed.text().contains("trouble"));
    assert_eq!(home.log(), decided);
}

#[test]
fn of_eight_at_the_same_moment_exactly_one_is_heard() {
    let home = ReviewedHome::demo();
    let review = home.review(None);
    let guest = PageVisitor::guest(&review);
    for round in 0..5 {
        let seen = guest.get("/entry/1").field("seen");
        let start = Arc::new(Barrier::new(8));
        let answers: Vec<u16> = std::thread::scope(|scope| {
            let ask = |index: usize| {
                let (guest, start, seen) = (guest.clone(), Arc::clone(&start), seen.clone());
                scope.spawn(move || {
                    let form = format!("seen={seen}&word=comment&text=round {round} of {index}");
                    start.wait();
                    guest.post("/entry/1/say", &form).status
                })
            };
            let threads: Vec<_> = (0..8).map(ask).collect();
            threads
                .into_iter()
                .map(|thread| thread.join().unwrap())
                .collect()
        });
        let won = answers.iter().filter(|status| **status == 200).count();
        assert_eq!(won, 1, "round {round}: {answers:?}");
        let rest: HashSet<u16> = answers
            .into_iter()
            .filter(|status| *status != 200)
            .collect();
        assert_eq!(rest, HashSet::from([409]));
    }
}

#[test]
fn what_was_answered_is_kept_though_the_server_is_killed_at_once() {
    let home = ReviewedHome::demo();
    let mut kept = 0;
    for round in 0..12 {
        let review = home.review(None);
        let guest = PageVisitor::guest(&review);
        let page = guest.get("/entry/1");
        let seen = page.field("seen");
        let name = format!("Ruth {round}");
        let (action, form) = match round % 3 {
            0 => ("say", format!("seen={seen}&word=comment&text={name}")),
            1 => ("later", format!("seen={seen}")),
            _ => ("again", format!("seen={seen}")),
        };
        let status = guest.post(&format!("/entry/1/{action}"), &form).status;
        review.kill();
        assert!(status == 200 || status == 303, "{action}: {status}");
        let review = home.review(None);
        let again = PageVisitor::guest(&review).get("/entry/1").text();
        let told = match round % 3 {
            0 => again.contains(&name),
            1 => again.contains("class=\"state later\""),
            _ => again.contains("class=\"state open\""),
        };
        assert!(told, "{action} of round {round} is lost: {again}");
        kept += 1;
    }
    println!(
        "figure: review: {kept} of 12 decisions kept by a server that was killed as soon as it had answered"
    );
}

#[test]
fn in_the_browser_an_outdated_tab_is_told_and_what_was_typed_stays_in_sight() {
    let home = ReviewedHome::demo();
    let review = home.review(None);
    let mut browser = home.browser(BrowserWindow::DESK);
    browser.go(&review.link).unwrap();
    browser.until("location.pathname === '/'").unwrap();
    let entry = format!("http://127.0.0.1:{}/entry/1", review.port);
    browser.go(&entry).unwrap();
    browser.arrive("/entry/1").unwrap();
    let first = browser.new_tab().unwrap();
    browser.go(&entry).unwrap();
    browser.arrive("/entry/1").unwrap();
    browser.press('\u{e00c}').unwrap();
    browser.press('l').unwrap();
    browser.arrive("/entry/2").unwrap();
    browser.turn_to(&first).unwrap();
    browser.click("#name").unwrap();
    browser.write("Rudolf").unwrap();
    browser
        .until("!document.getElementById('trouble').hidden")
        .unwrap();
    assert_eq!(
        browser
            .text("document.getElementById('name').value")
            .unwrap(),
        "Rudolf"
    );
    let told = browser
        .text("document.getElementById('trouble').textContent")
        .unwrap();
    assert!(told.contains("changed"), "{told}");
}
