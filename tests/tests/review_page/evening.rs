//! The demo drive from the first link to the exported file, by keyboard alone and by
//! mouse alone, with what each contact costs.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::time::Instant;

use jumpseat_simulator::truth::{DriveTruth, TrueContact};
use jumpseat_test_kit::demo_card;
use jumpseat_tests::parts::{BrowserWindow, WebBrowser};
use serde_json::json;

use crate::home::{DEMO, ReviewedHome, adif};

const ENTER: char = '\u{e007}';
const ESCAPE: char = '\u{e00c}';
const TAB: char = '\u{e004}';

/// A person who knows what was said.
struct ReviewingPerson {
    browser: WebBrowser,
    truth: DriveTruth,
    by_keys: bool,
}

/// The fields that are always in view, with what was really said.
fn fields(contact: &TrueContact) -> [(&'static str, &str); 4] {
    [
        ("call", contact.call.as_str()),
        ("sent", contact.sent.as_deref().unwrap_or_default()),
        ("received", contact.received.as_deref().unwrap_or_default()),
        ("name", contact.name.as_deref().unwrap_or_default()),
    ]
}

impl ReviewingPerson {
    fn new(home: &ReviewedHome, window: BrowserWindow, by_keys: bool) -> Self {
        let truth = File::open(demo_card().join("truth.json")).unwrap();
        Self {
            browser: home.browser(window),
            truth: serde_json::from_reader(truth).unwrap(),
            by_keys,
        }
    }

    /// The page's main button.
    fn go_on(&mut self, button: &str) {
        if self.by_keys {
            self.browser.press(ENTER).unwrap();
        } else {
            self.browser.click(button).unwrap();
        }
    }

    /// Plays every doubtful spot to its end.
    fn listen(&mut self) -> usize {
        let spots = self
            .browser
            .value("document.querySelectorAll('#spots li').length");
        let spots = spots.unwrap().as_u64().unwrap() as usize;
        if self.by_keys && spots > 0 {
            self.browser.press(ESCAPE).unwrap();
        }
        for _ in 0..spots {
            let heard = "Number(document.body.dataset.heard ?? 0)";
            let before = self.browser.value(heard).unwrap();
            if self.by_keys {
                self.browser.press('d').unwrap();
            } else {
                self.browser.click("#doubtful").unwrap();
            }
            self.browser.until(&format!("{heard} > {before}")).unwrap();
            let rests = "document.getElementById('play').firstChild.textContent === 'Play '";
            self.browser.until(rests).unwrap();
        }
        spots
    }

    /// Puts a field right: by its number among what was heard, or by typing.
    fn correct(&mut self, name: &str, text: &str) {
        let script = "return document.querySelector('.current input')?.name === arguments[0]
            ? [...document.querySelectorAll('.choices button')]
                .filter((button) => button.dataset.field === arguments[0])
                .findIndex((button) => button.dataset.text === arguments[1]) + 1 : 0";
        let place = self.browser.script(script, vec![json!(name), json!(text)]);
        let place = place.unwrap().as_u64().unwrap_or(0);
        if !self.by_keys {
            let button = format!(".choices button[data-field={name}][data-text='{text}']");
            return self.browser.click(&button).unwrap();
        }
        if let Some(digit) = char::from_digit(place as u32, 10).filter(|digit| *digit != '0') {
            self.browser.press(ESCAPE).unwrap();
            return self.browser.press(digit).unwrap();
        }
        self.browser.press(ESCAPE).unwrap();
        self.browser.press('e').unwrap();
        while self.browser.text("document.activeElement.name").unwrap() != name {
            self.browser.press(TAB).unwrap();
        }
        self.browser.write(text).unwrap();
    }

    /// Decides the entry that is open; gives keys, clicks and seconds.
    fn decide(&mut self, contact: &TrueContact) -> String {
        let begin = Instant::now();
        let before = self.browser.effort();
        let path = self.browser.text("location.pathname").unwrap();
        let spots = self.listen();
        let mut wrong = Vec::new();
        for (name, text) in fields(contact) {
            let shown = format!("document.getElementById('{name}').value");
            if self.browser.text(&shown).unwrap() != text {
                self.correct(name, text);
                wrong.push(name);
            }
            assert_eq!(self.browser.text(&shown).unwrap(), text);
        }
        self.go_on("#confirm");
        self.browser
            .until(&format!("location.pathname !== '{path}'"))
            .unwrap();
        self.browser.arrive("/").unwrap();
        let after = self.browser.effort();
        format!(
            "{}: {} keys, {} clicks, {:.1} s, {spots} doubtful spots heard, {} corrected",
            contact.call,
            after.0 - before.0,
            after.1 - before.1,
            begin.elapsed().as_secs_f64(),
            if wrong.is_empty() {
                "nothing".into()
            } else {
                wrong.join(", ")
            }
        )
    }
}

/// From the first link to the file, which another program's library reads back.
#[track_caller]
fn check(way: &str, window: BrowserWindow, by_keys: bool) {
    let home = ReviewedHome::demo();
    let review = home.review(Some(DEMO));
    let mut person = ReviewingPerson::new(&home, window, by_keys);
    let begin = Instant::now();
    person.browser.go(&review.link).unwrap();
    person.browser.arrive(&format!("/trip/{DEMO}")).unwrap();
    person.go_on("#next");
    for contact in person.truth.contacts.clone() {
        person.browser.arrive("/entry/").unwrap();
        println!("figure: review {way}: {}", person.decide(&contact));
    }
    person.browser.arrive("/trip/").unwrap();
    person.go_on("#next");
    person.browser.arrive("/export").unwrap();
    person
        .browser
        .until("document.querySelector('form.export') !== null")
        .unwrap();
    person.go_on("#next");
    person
        .browser
        .until("document.getElementById('exported') !== null")
        .unwrap();
    let file = person
        .browser
        .text("document.querySelector('#exported code').textContent");
    let (keys, clicks) = person.browser.effort();
    println!(
        "figure: review {way}: {} contacts from the first link to the file: {keys} keys, {clicks} clicks, {:.1} s",
        person.truth.contacts.len(),
        begin.elapsed().as_secs_f64()
    );
    assert!(if by_keys { clicks == 0 } else { keys == 0 });
    exported(&PathBuf::from(file.unwrap()), &person.truth);
}

/// Every contact stands in the file as it was.
fn exported(file: &Path, truth: &DriveTruth) {
    let read = adif(file);
    let records = read["records"].as_array().unwrap();
    assert_eq!(records.len(), truth.contacts.len());
    for (record, contact) in records.iter().zip(&truth.contacts) {
        let megahertz: f64 = record["FREQ"].as_str().unwrap().parse().unwrap();
        assert!((megahertz * 1e6 - contact.hz as f64).abs() < 1.0);
        let text = |field: &str| record[field].as_str().unwrap_or_default().to_owned();
        let [call, sent, received, name] = fields(contact).map(|(_, text)| text.to_owned());
        let found = ["CALL", "RST_SENT", "RST_RCVD", "NAME"].map(text);
        assert_eq!(found, [call, sent, received, name]);
        assert_eq!(text("MY_GRIDSQUARE"), contact.locator);
    }
}

#[test]
fn the_demo_drive_from_link_to_file_by_keyboard_alone() {
    check("by keys", BrowserWindow::DESK, true);
}

#[test]
fn the_demo_drive_from_link_to_file_by_mouse_alone() {
    check("by mouse", BrowserWindow::DESK, false);
}

#[test]
fn the_demo_drive_from_link_to_file_on_a_phone() {
    check("on a phone", BrowserWindow::PHONE, false);
}
