//! A trip and a log made by somebody who wants to run script on the page.

use std::fs;
use std::net::TcpListener;

use jumpseat_core::journal::{JournalEvent, RecorderFault, clip};
use jumpseat_test_kit::demo_card;
use jumpseat_tests::journal_file;
use jumpseat_tests::parts::{BrowserWindow, WebBrowser, drafted_from};
use jumpseat_values::Doubt;

use crate::home::{DEMO, ReviewedHome, other};

/// Texts that run where a page is careless. `PORT` is where it would be heard.
fn attacks(port: u16) -> Vec<String> {
    [
        "<script>ran('script')</script>",
        "\"><img src=http://127.0.0.1:PORT/i onerror=ran('img')>",
        "' onfocus=ran('focus') autofocus x='",
        "</title></textarea></style><svg/onload=ran('svg')>",
        "javascript:ran('link')//",
        "&lt;script&gt;ran('entity')&lt;/script&gt;",
        "<meta http-equiv=refresh content=0;url=http://127.0.0.1:PORT/m>",
        "{{constructor.constructor('ran(1)')()}}${ran('template')}",
        "\u{202e}\u{2066}gnp.exe\u{200f} \u{feff}\u{0}\u{1b}[31m \u{7}",
        "<iframe srcdoc=\"<script>top.ran('frame')</script>\">",
        "<base href=http://127.0.0.1:PORT/><style>*{background:url(/s)}</style>",
        "]]><!--<a href=javascript:ran('a')>x</a>",
    ]
    .map(|text| text.replace("PORT", &port.to_string()))
    .into()
}

/// The demo's journal with a hostile dial and hostile faults.
fn journal(text: &str, attacks: &[String]) -> String {
    let mut records = journal_file::records(text);
    let mut hostile = attacks.iter().cycle();
    let mut faults = Vec::new();
    for record in &mut records {
        if let JournalEvent::Dial { mode, .. } = &mut record.event {
            *mode = clip(hostile.next().unwrap());
        }
        if let JournalEvent::Ptt { down: true } = &record.event {
            let mut fault = record.clone();
            let detail = clip(hostile.next().unwrap());
            let kind = RecorderFault::Gps;
            fault.event = JournalEvent::Fault {
                fault: kind,
                detail,
            };
            faults.push(fault);
        }
    }
    records.extend(faults);
    journal_file::text(records).unwrap()
}

/// Texts in every place that a trip, a recogniser and a log can fill.
fn hostile_home(port: u16) -> ReviewedHome {
    let attacks = attacks(port);
    let home = ReviewedHome::empty();
    drafted_from(&demo_card(), &home.path(), |text| journal(text, &attacks)).unwrap();
    let mut next = attacks.iter().cycle().cloned();
    let mut hostile = || next.next().unwrap();

    // What was heard.
    let heard = home.path().join(format!("heard/{DEMO}.json"));
    let mut drive: serde_json::Value = serde_json::from_slice(&fs::read(&heard).unwrap()).unwrap();
    for over in drive["overs"].as_array_mut().unwrap() {
        for word in over["heard"]["words"].as_array_mut().into_iter().flatten() {
            word["word"] = hostile().into();
            word["symbol"] = hostile().into();
        }
    }
    fs::write(&heard, serde_json::to_vec(&drive).unwrap()).unwrap();

    // What was said.
    let said = home.path().join(format!("heard/{DEMO}.said.json"));
    let mut transcript: serde_json::Value =
        serde_json::from_slice(&fs::read(&said).unwrap()).unwrap();
    for over in transcript["overs"].as_array_mut().unwrap() {
        let start_s = over["start_s"].as_f64().unwrap();
        let word = |text: String, probability: f64| {
            serde_json::json!({
                "text": text, "span_s": [start_s, start_s + 1.0], "probability": probability
            })
        };
        over["words"] = vec![word(hostile(), 0.3), word(hostile(), 0.9)].into();
    }
    fs::write(&said, serde_json::to_vec(&transcript).unwrap()).unwrap();

    // What was drafted.
    home.redraft(|draft| {
        for field in [&mut draft.sent, &mut draft.received, &mut draft.name] {
            field.value = Some(hostile());
            field.alternatives = vec![other(hostile(), 0.3)];
            field.doubts = vec![Doubt::Other(hostile())];
        }
        draft.call.alternatives = vec![other(hostile(), 0.4)];
        draft.call.doubts = vec![Doubt::Other(hostile())];
        draft.locator.value = Some(hostile());
        draft.band.value = Some(hostile());
        draft.doubts = attacks.iter().cloned().map(Doubt::Other).collect();
    });

    // The log that one has already.
    let mut adif = "<ADIF_VER:5>3.1.4<EOH>\n".to_owned();
    for attack in &attacks {
        let fields = [
            ("CALL", "KB0QSE"),
            ("QSO_DATE", "20260514"),
            ("TIME_ON", "150428"),
            ("BAND", "20m"),
            ("MODE", "SSB"),
            ("NAME", attack),
            ("COMMENT", attack),
            ("QTH", attack),
            ("STATE", attack),
        ];
        for (name, value) in fields {
            adif.push_str(&format!("<{name}:{}>{value}", value.len()));
        }
        adif.push_str("<EOR>\n");
    }
    let file = home.at("theirs.adi");
    fs::write(&file, adif).unwrap();
    home.run(&["import", file.to_str().unwrap()]);
    home
}

/// On a page: nothing ran, no element or attribute came out of a text.
fn look(browser: &mut WebBrowser, what: &str) {
    assert_eq!(browser.alert(), None, "{what}");
    let found = browser
        .value(
            "({ ran: window.ran ?? null,
                 elements: document.querySelectorAll(
                   'iframe, object, embed, base, style, img:not([src^=\"/picture/\"]), \
                    script:not([src=\"/review.js\"]), meta[http-equiv]').length,
                 handlers: [...document.querySelectorAll('*')].flatMap((element) =>
                   [...element.attributes].filter(({ name, value }) =>
                     name.startsWith('on') || (['href', 'src', 'action', 'formaction'].includes(name)
                       && !/^(\\/(?!\\/)|#)/.test(value)))).map(({ name, value }) => name + value),
                 elsewhere: performance.getEntriesByType('resource')
                   .filter(({ name }) => !name.startsWith(location.origin)).length,
                 text: document.body.textContent.includes(\"ran('\")
                   || [...document.querySelectorAll('input')].some(({ value }) => value.includes(\"ran('\")) })",
        )
        .unwrap();
    assert_eq!(found["ran"], serde_json::Value::Null, "{what}");
    assert_eq!(found["elements"], 0, "{what}");
    assert_eq!(
        found["handlers"].as_array().map(Vec::len),
        Some(0),
        "{what}: {found}"
    );
    assert_eq!(found["elsewhere"], 0, "{what}");
    if what == format!("/trip/{DEMO}") || what.starts_with("/entry/1") {
        assert_eq!(
            found["text"], true,
            "the hostile text is not shown as text on {what}"
        );
    }
}

#[test]
fn a_hostile_trip_and_a_hostile_log_run_nothing_and_are_shown_as_text() {
    // Where the page would be heard if it loaded anything from elsewhere.
    let ear = TcpListener::bind("127.0.0.1:0").unwrap();
    ear.set_nonblocking(true).unwrap();
    let home = hostile_home(ear.local_addr().unwrap().port());
    let review = home.review(Some(DEMO));
    let mut browser = home.browser(BrowserWindow::DESK);
    browser.go(&review.link).unwrap();
    browser.arrive("/trip/").unwrap();
    look(&mut browser, "the first page");
    let trip = format!("/trip/{DEMO}");
    let mut pages = 1;
    let mut visit = |browser: &mut WebBrowser, path: &str| {
        browser
            .go(&format!("http://127.0.0.1:{}{path}", review.port))
            .unwrap();
        browser.until("document.readyState === 'complete'").unwrap();
        look(browser, path);
        pages += 1;
    };
    for path in [
        trip.as_str(),
        "/entry/1",
        "/entry/2",
        "/entry/3",
        "/history",
        "/export",
        "/",
    ] {
        visit(&mut browser, path);
    }
    // By its own hands too: choose every value that is offered, play, decide.
    browser
        .go(&format!("http://127.0.0.1:{}/entry/1", review.port))
        .unwrap();
    browser.arrive("/entry/1").unwrap();
    browser.value("[...document.querySelectorAll('.choices button, .word, .evidence')].forEach((b) => b.click())").unwrap();
    browser.click("#call").unwrap();
    // A value that was chosen stands in the box, and typing goes on behind it.
    browser
        .value("document.querySelector('#call').select()")
        .unwrap();
    browser.write("KB0QSE").unwrap();
    browser
        .until("document.querySelector('#remarks .known') !== null")
        .unwrap();
    look(&mut browser, "/entry/1, every value chosen");
    // A link, a path and a query that are hostile themselves.
    for path in [
        "/trip/%3Cscript%3Eran(1)%3C%2Fscript%3E",
        "/export?trip=%22%3E%3Cscript%3Eran(1)%3C%2Fscript%3E",
        "/%3Cimg%20src%3Dx%20onerror%3Dran(1)%3E",
    ] {
        visit(&mut browser, path);
    }
    assert!(
        ear.accept().is_err(),
        "something was asked for from elsewhere"
    );
    println!(
        "figure: review: {pages} pages of a hostile trip and log: nothing ran, nothing was asked for from elsewhere"
    );
}
