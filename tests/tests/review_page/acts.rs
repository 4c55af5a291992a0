//! What can be done with an entry, by key: decide, join, take apart, undo, play.

use std::fs;

use jumpseat_tests::parts::{BrowserWindow, ReviewProcess, WebBrowser};
use jumpseat_values::DraftDoubt;
use serde_json::Value;

use crate::home::{DEMO, ReviewedHome, other};

const DOWN: char = '\u{e015}';
const RIGHT: char = '\u{e014}';
const DELETE: char = '\u{e017}';
const ESCAPE: char = '\u{e00c}';
const ENTER: char = '\u{e007}';

fn at(home: &ReviewedHome, path: &str) -> (ReviewProcess, WebBrowser) {
    let review = home.review(Some(DEMO));
    let mut browser = home.browser(BrowserWindow::DESK);
    browser.go(&review.link).unwrap();
    browser.arrive("/trip/").unwrap();
    go(&mut browser, &review, path);
    (review, browser)
}

fn go(browser: &mut WebBrowser, review: &ReviewProcess, path: &str) {
    browser
        .go(&format!("http://127.0.0.1:{}{path}", review.port))
        .unwrap();
    letters(browser, path);
}

/// Waits for a page and leaves its fields, so that letters are keys.
fn letters(browser: &mut WebBrowser, path: &str) {
    browser.arrive(path).unwrap();
    browser.press(ESCAPE).unwrap();
}

/// Calls the open entry no contact, as the page asks.
fn reject(browser: &mut WebBrowser) {
    browser.press('x').unwrap();
    browser.press(DELETE).unwrap();
}

fn state(browser: &WebBrowser) -> String {
    browser
        .text("document.querySelector('.title .state')?.textContent")
        .unwrap()
}

/// The drafts and contacts of the log, without the times at which they were stored.
fn shape(home: &ReviewedHome) -> Vec<(Value, Value)> {
    let entries = home.log().into_iter();
    entries
        .map(|entry| (entry["draft"].clone(), entry["contact"].clone()))
        .collect()
}

/// Presses undo until nothing of a person's is left.
fn undo_all(browser: &mut WebBrowser) -> usize {
    let mut undone = 0;
    while browser
        .value("document.getElementById('undo') !== null")
        .unwrap()
        == true
    {
        browser.value("document.body.dataset.old = 'yes'").unwrap();
        browser.press('u').unwrap();
        browser
            .until("document.readyState === 'complete' && !document.body.dataset.old")
            .unwrap();
        browser.press(ESCAPE).unwrap();
        undone += 1;
        assert!(undone < 50);
    }
    undone
}

#[test]
fn later_not_a_contact_join_and_take_apart_and_everything_undone_again() {
    let home = ReviewedHome::demo();
    let before = shape(&home);
    let (review, mut browser) = at(&home, "/entry/1");
    browser.press('l').unwrap();
    letters(&mut browser, "/entry/2");
    reject(&mut browser);
    // What was put off comes once more.
    browser.arrive("/entry/1").unwrap();
    assert_eq!(state(&browser), "later");
    go(&mut browser, &review, "/entry/2");
    assert_eq!(state(&browser), "not a contact");
    browser.press('x').unwrap();
    browser
        .until("document.querySelector('.title .state').textContent === 'to decide'")
        .unwrap();

    // Two become one, which has all the overs.
    go(&mut browser, &review, "/entry/1");
    let overs = |browser: &WebBrowser| {
        browser
            .value("document.querySelectorAll('.strip').length")
            .unwrap()
    };
    let first = overs(&browser).as_u64().unwrap();
    browser.press('j').unwrap();
    browser
        .until(&format!(
            "document.querySelectorAll('.strip').length > {first}"
        ))
        .unwrap();
    assert_eq!(shape(&home).len(), 1);

    // And one becomes two again, before the over that is selected.
    browser.press(ESCAPE).unwrap();
    browser.press(DOWN).unwrap();
    browser.press(DOWN).unwrap();
    browser.press('t').unwrap();
    browser
        .until(&format!(
            "document.querySelectorAll('.strip').length < {first}"
        ))
        .unwrap();
    assert_eq!(shape(&home).len(), 2);
    browser.press(ESCAPE).unwrap();

    let undone = undo_all(&mut browser);
    assert_eq!(shape(&home), before);
    println!("figure: review: {undone} actions taken back by key, the log as it was before");
}

#[test]
fn what_is_typed_stays_when_the_page_and_the_server_go() {
    let home = ReviewedHome::demo();
    let (review, mut browser) = at(&home, "/entry/2");
    browser.click("#name").unwrap();
    browser.write("Walter").unwrap();
    // The page goes at once, before the pause in which it would be kept.
    browser.go("about:blank").unwrap();
    std::thread::sleep(std::time::Duration::from_millis(500));
    review.kill();
    drop(browser);
    let (_review, browser) = at(&home, "/entry/2");
    assert_eq!(
        browser
            .text("document.getElementById('name').value")
            .unwrap(),
        "Walter"
    );
    assert_eq!(state(&browser), "to decide");
}

#[test]
fn the_call_sign_is_checked_while_it_is_typed() {
    let home = ReviewedHome::demo();
    // The log has this station at this time already, and another one from before.
    let record = |call: &str, date: &str, name: &str| {
        let fields = [
            ("CALL", call),
            ("QSO_DATE", date),
            ("TIME_ON", "150430"),
            ("BAND", "20m"),
            ("MODE", "SSB"),
            ("NAME", name),
        ];
        let fields = fields.map(|(name, value)| format!("<{name}:{}>{value}", value.len()));
        fields.concat() + "<EOR>\n"
    };
    let log = format!(
        "<ADIF_VER:5>3.1.4<EOH>\n{}{}",
        record("KB0QSE", "20260514", "Ruth"),
        record("N0QRD", "20250102", "Walt")
    );
    let file = home.at("mine.adi");
    fs::write(&file, log).unwrap();
    home.run(&["import", file.to_str().unwrap()]);
    let (_review, mut browser) = at(&home, "/entry/1");
    let says = |browser: &WebBrowser, kind: &str, words: &str| {
        let script = format!(
            "[...document.querySelectorAll('#remarks .{kind}')].some((item) => item.textContent.includes('{words}'))"
        );
        browser.until(&script).unwrap();
    };
    says(&browser, "doubt", "may be the same contact as entry");
    browser.press('e').unwrap();
    for (typed, kind, words) in [
        ("KB", "wrong", "letters and the digit"),
        ("0QSY", "good", "United States"),
    ] {
        browser.write(typed).unwrap();
        says(&browser, kind, words);
    }
    browser.press(ESCAPE).unwrap();
    browser.press('e').unwrap();
    browser.write("N0QRD").unwrap();
    says(
        &browser,
        "known",
        "worked once before, last on 2025-01-02, Walt",
    );
}

#[test]
fn another_value_is_one_key_away() {
    let home = ReviewedHome::demo();
    home.redraft(|draft| {
        draft.name.value = Some("Ruth".into());
        draft.name.probability = Some(0.5);
        draft.name.alternatives = vec![other("Rune".into(), 0.4)];
        draft.name.doubts = vec![DraftDoubt::Faint.into()];
        draft.name.evidence = draft.call.evidence.clone();
        for sure in [&mut draft.call, &mut draft.sent, &mut draft.received] {
            sure.probability = Some(0.99);
            sure.doubts.clear();
        }
    });
    let (_review, mut browser) = at(&home, "/entry/1");
    // The doubtful spot makes its field the current one.
    let current = "document.querySelector('.field.current').dataset.word === 'name'";
    for _ in 0..20 {
        browser.press('d').unwrap();
        if browser.value(current).unwrap() == true {
            break;
        }
    }
    browser.until(current).unwrap();
    browser.press('2').unwrap();
    let name = "document.getElementById('name').value";
    browser.until(&format!("{name} === 'Rune'")).unwrap();
    browser.press('1').unwrap();
    browser.until(&format!("{name} === 'Ruth'")).unwrap();
}

#[test]
fn what_is_selected_is_heard_in_the_form_that_is_chosen() {
    let home = ReviewedHome::demo();
    let (_review, mut browser) = at(&home, "/entry/1");
    let heard = |browser: &WebBrowser, what: &str| {
        let script = format!(
            "performance.getEntriesByType('resource').filter(({{ name }}) => name.includes('/sound/')).at(-1)?.name.includes('{what}') ?? false"
        );
        browser.until(&script).unwrap();
    };
    let plays = "document.getElementById('play').firstChild.textContent === 'Stop '";
    let rests = "document.getElementById('play').firstChild.textContent === 'Play '";
    // The next word, alone: it ends by itself.
    browser.press(RIGHT).unwrap();
    browser
        .until("document.querySelector('.word.here') !== null")
        .unwrap();
    heard(&browser, "level.wav");
    // The button rests also before the sound begins.
    browser
        .until("Number(document.body.dataset.heard ?? 0) > 0")
        .unwrap();
    browser.until(rests).unwrap();
    // Repeated, it does not.
    browser.press('r').unwrap();
    browser.press(' ').unwrap();
    browser.until(plays).unwrap();
    std::thread::sleep(std::time::Duration::from_millis(1800));
    assert_eq!(browser.value(plays).unwrap(), true);
    browser.press('c').unwrap();
    heard(&browser, "clean.wav");
    browser.press('c').unwrap();
    browser.press('v').unwrap();
    heard(&browser, "raw.wav");
    for speed in ["Speed 0.75", "Speed 0.5", "Speed 1"] {
        browser.press('s').unwrap();
        let shown = format!("document.querySelector('#slow span').textContent === '{speed}'");
        browser.until(&shown).unwrap();
    }
    browser.press(' ').unwrap();
    browser.until(rests).unwrap();
    // The next over, from the button's own click too.
    browser.press(DOWN).unwrap();
    browser
        .until("document.querySelectorAll('.strip')[2].classList.contains('here')")
        .unwrap();
}

#[test]
fn the_trip_adds_up_and_exports_as_the_command_does() {
    let home = ReviewedHome::demo();
    let (_review, mut browser) = at(&home, "/entry/1");
    browser.press(ENTER).unwrap();
    letters(&mut browser, "/entry/2");
    browser.press('l').unwrap();
    browser.arrive("/trip/").unwrap();
    let rows = browser
        .value("[...document.querySelectorAll('.totals tbody tr')].map((row) => row.innerText.replace(/\\s+/g, ' ').trim())")
        .unwrap();
    let expected = ["20m 1", "2m 1", "Sweetwater, WY 2", "05-14 15 h 2"];
    assert_eq!(rows, serde_json::json!(expected));
    let sums = browser
        .text("document.querySelector('.totals').previousElementSibling.textContent")
        .unwrap();
    assert_eq!(sums, "1 confirmed, 1 to decide");
    // Only what is confirmed goes out, as from the command.
    browser.click("footer a[href='/export']").unwrap();
    browser.arrive("/export").unwrap();
    browser.press(ENTER).unwrap();
    browser
        .until("document.getElementById('exported') !== null")
        .unwrap();
    let page = browser
        .text("document.querySelector('#exported code').textContent")
        .unwrap();
    let command = home.at("command.adi");
    home.run(&[
        "export",
        "--format",
        "adif",
        "--all",
        "--out",
        command.to_str().unwrap(),
    ]);
    let records = |path: &str| {
        let text = fs::read_to_string(path).unwrap();
        text.split_once("<EOH>").unwrap().1.to_owned()
    };
    assert_eq!(records(&page), records(command.to_str().unwrap()));
    assert_eq!(records(&page).matches("<CALL:6>KB0QSE").count(), 1);
    assert_eq!(records(&page).matches("<EOR>").count(), 1);
}

#[test]
fn slow_sound_keeps_its_pitch_and_a_word_is_heard_from_where_it_begins_to_where_it_ends() {
    let home = ReviewedHome::demo();
    let (_review, mut browser) = at(&home, "/entry/1");
    // From now on the page's own player can be looked at.
    let hook = "const play = HTMLMediaElement.prototype.play;
        HTMLMediaElement.prototype.play = function () {
          window.sound = this;
          window.began = this.currentTime;
          return play.call(this);
        };";
    browser.script(hook, Vec::new()).unwrap();
    browser.press('s').unwrap();
    browser.press('s').unwrap();
    browser.press(RIGHT).unwrap();
    browser
        .until("window.sound?.playbackRate === 0.5 && window.sound.preservesPitch")
        .unwrap();
    browser.until("window.sound.paused").unwrap();
    let number = |expression: &str| browser.value(expression).unwrap().as_f64().unwrap();
    let word = "document.querySelector('.word.here').dataset";
    let strip = "document.querySelector('.strip.here').dataset";
    let place = |end: &str| number(&format!("Number({word}.{end}) - Number({strip}.from)"));
    let (from, to) = (place("from"), place("to"));
    let (began, ended) = (number("window.began"), number("window.sound.currentTime"));
    // A little before and after, so that nothing is cut; the end is seen between two pictures.
    assert!((from - 0.25..=from).contains(&began), "{began} for {from}");
    assert!((to..to + 0.5).contains(&ended), "{ended} for {to}");
}
