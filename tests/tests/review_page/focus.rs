//! Where the keys go: what is typed at once stands in the call sign or nowhere, and no
//! letter alone rejects an entry.

use jumpseat_tests::parts::{BrowserWindow, WebBrowser};

use crate::home::{DEMO, ReviewedHome};

const ESCAPE: char = '\u{e00c}';
const ENTER: char = '\u{e007}';
const DELETE: char = '\u{e017}';
const ALT: char = '\u{e00a}';
const CALL: &str = "document.getElementById('call').value";
const FOCUS: &str = "document.activeElement.id";
const GLOW: &str = "getComputedStyle(document.getElementById('call')).boxShadow";

fn state(browser: &WebBrowser) -> String {
    let state = "document.querySelector('.title .state').textContent";
    browser.text(state).unwrap()
}

/// What a person decided of the entries, in words.
fn decided(home: &ReviewedHome) -> String {
    let log = home.log().into_iter();
    log.map(|entry| {
        format!(
            "{} {};",
            entry["contact"]["call"], entry["review"]["verdict"]
        )
    })
    .collect()
}

/// Types a call sign at once; it stands in the box of the entry that is open, and
/// nothing is decided. What stood there is put back.
#[track_caller]
fn types(home: &ReviewedHome, browser: &mut WebBrowser, path: &str, how: &str) {
    browser.arrive(path).unwrap();
    let (before, old) = (decided(home), browser.text(CALL).unwrap());
    assert_eq!(browser.text(FOCUS).unwrap(), "call", "{how}");
    assert_ne!(
        browser.text(GLOW).unwrap(),
        "none",
        "{how}: it looks focused"
    );
    browser.write("VK1QXA").unwrap();
    assert_eq!(browser.text(CALL).unwrap(), "VK1QXA", "{how}");
    assert_eq!(browser.text("location.pathname").unwrap(), path, "{how}");
    assert_eq!(state(browser), "to decide", "{how}");
    assert_eq!(decided(home), before, "{how}");
    browser.click("#call").unwrap();
    let select = "document.getElementById('call').select()";
    browser.script(select, Vec::new()).unwrap();
    browser.write(&old).unwrap();
    assert_eq!(browser.text(CALL).unwrap(), old, "{how}");
}

fn open(
    home: &ReviewedHome,
) -> (
    jumpseat_tests::parts::ReviewProcess,
    WebBrowser,
    impl Fn(&str) -> String,
) {
    let review = home.review(Some(DEMO));
    let browser = home.browser(BrowserWindow::DESK);
    browser.go(&review.link).unwrap();
    browser.arrive("/trip/").unwrap();
    let port = review.port;
    let at = move |path: &str| format!("http://127.0.0.1:{port}{path}");
    (review, browser, at)
}

#[test]
fn a_call_sign_that_is_typed_at_once_stands_in_its_box() {
    let home = ReviewedHome::demo();
    let (_review, mut browser, at) = open(&home);
    browser.click(".entries a").unwrap();
    types(&home, &mut browser, "/entry/1", "by mouse from the trip");
    browser.go(&at("/entry/1")).unwrap();
    types(&home, &mut browser, "/entry/1", "by link");
    browser.click("#after").unwrap();
    types(&home, &mut browser, "/entry/2", "by mouse, the next");
    browser.press(ESCAPE).unwrap();
    browser.press('p').unwrap();
    types(&home, &mut browser, "/entry/1", "by key, the one before");
    browser.chord(ALT, 'n').unwrap();
    types(
        &home,
        &mut browser,
        "/entry/2",
        "by key from within the box",
    );
    browser.chord(ALT, 'p').unwrap();
    browser.arrive("/entry/1").unwrap();
    browser.click("#keys-open").unwrap();
    browser
        .until("document.getElementById('keys').open")
        .unwrap();
    browser.click("#keys form button").unwrap();
    types(&home, &mut browser, "/entry/1", "after the keys were shown");
    browser.chord(ALT, 'x').unwrap();
    browser
        .until("document.getElementById('reject').open")
        .unwrap();
    browser.press(ENTER).unwrap();
    types(&home, &mut browser, "/entry/1", "after it was kept");
    browser.press(ENTER).unwrap();
    types(&home, &mut browser, "/entry/2", "after a confirmation");
    // From the trip's page on by its main key.
    browser.chord(ALT, 'g').unwrap();
    browser.arrive("/trip/").unwrap();
    assert_eq!(browser.text(FOCUS).unwrap(), "main");
    browser.press(ENTER).unwrap();
    types(&home, &mut browser, "/entry/2", "by key from the trip");
}

#[test]
fn where_letters_are_keys_nothing_looks_like_a_box_and_none_of_them_rejects() {
    let home = ReviewedHome::demo();
    let (_review, mut browser, at) = open(&home);
    browser.go(&at("/entry/1")).unwrap();
    browser.arrive("/entry/1").unwrap();
    let (before, call) = (decided(&home), browser.text(CALL).unwrap());
    browser.press(ESCAPE).unwrap();
    assert_eq!(browser.text(FOCUS).unwrap(), "main");
    assert_eq!(browser.text(GLOW).unwrap(), "none");
    // Typed blindly to its end.
    browser.write("VKQXA").unwrap();
    browser.press(ENTER).unwrap();
    assert_eq!(browser.text("location.pathname").unwrap(), "/entry/1");
    assert_eq!(browser.text(CALL).unwrap(), call);
    assert_eq!(decided(&home), before);
    assert_eq!(browser.text(FOCUS).unwrap(), "main");
    // Asked, it is rejected, and the way back is there whatever has the focus.
    browser.press('x').unwrap();
    browser.press(DELETE).unwrap();
    browser.arrive("/entry/2").unwrap();
    assert_ne!(decided(&home), before);
    assert_eq!(browser.text(FOCUS).unwrap(), "call");
    browser.chord(ALT, 'u').unwrap();
    browser.arrive("/entry/1").unwrap();
    assert_eq!(state(&browser), "to decide");
    assert_eq!(decided(&home), before);
    // With the focus in the box its blank plays.
    let plays = "document.getElementById('play').firstChild.textContent === 'Stop '";
    browser.press(' ').unwrap();
    browser.press(ESCAPE).unwrap();
    browser.press('r').unwrap();
    browser.press('e').unwrap();
    if browser.value(plays).unwrap() != true {
        browser.press(' ').unwrap();
    }
    browser.until(plays).unwrap();
    assert_eq!(browser.text(CALL).unwrap(), call);
}
