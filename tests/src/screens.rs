//! Every screen of the review page, one after the other, on a fresh demo drive.

use crate::parts::{ReviewProcess, WebBrowser};
use jumpseat_test_kit::PartError;

/// The demo's trip.
const TRIP: &str = "/trip/trip-000001-3fa2c1";

/// Goes through all screens; `look` is called on each with its name.
pub fn tour(
    browser: &mut WebBrowser,
    review: &ReviewProcess,
    look: &mut dyn FnMut(&mut WebBrowser, &str) -> Result<(), PartError>,
) -> Result<(), PartError> {
    browser.go(&review.link)?;
    browser.arrive(TRIP)?;
    look(browser, "trip")?;
    open(browser, review, "/")?;
    look(browser, "trips")?;
    open(browser, review, "/entry/1")?;
    look(browser, "entry")?;
    browser.value("document.querySelector('details').open = true")?;
    look(browser, "entry-all-fields")?;
    browser.click("#keys-open")?;
    look(browser, "keys")?;
    browser.click("#keys form button")?;
    say(browser, "call", "KB")?;
    browser.click("#confirm")?;
    browser.until("document.querySelector('p.wrong:not([hidden])') !== null")?;
    look(browser, "entry-wrong")?;
    say(browser, "call", "KB0QSE")?;
    browser.click("#confirm")?;
    browser.arrive("/entry/2")?;
    browser.click("#not")?;
    browser.arrive(TRIP)?;
    look(browser, "trip-decided")?;
    open(browser, review, "/entry/1")?;
    look(browser, "entry-confirmed")?;
    open(browser, review, "/entry/2")?;
    look(browser, "entry-not-a-contact")?;
    open(browser, review, "/export?trip=trip-000001-3fa2c1")?;
    look(browser, "export")?;
    browser.click("#next")?;
    browser.until("document.getElementById('exported') !== null")?;
    look(browser, "exported")?;
    open(browser, review, "/history")?;
    look(browser, "history")?;
    open(browser, review, "/entry/99")?;
    look(browser, "trouble")
}

/// Opens a page of the server by its path.
pub fn open(browser: &mut WebBrowser, review: &ReviewProcess, path: &str) -> Result<(), PartError> {
    browser.go(&format!("http://127.0.0.1:{}{path}", review.port))?;
    browser.arrive(path.split('?').next().unwrap_or(path))
}

/// Puts a text into a field as typing does, and waits until it is kept.
pub fn say(browser: &mut WebBrowser, field: &str, text: &str) -> Result<(), PartError> {
    let script = format!(
        "(() => {{ const input = document.getElementById('{field}'); input.value = '{text}'; \
         input.dispatchEvent(new Event('input', {{ bubbles: true }})); return true; }})()"
    );
    browser.value(&script)?;
    std::thread::sleep(std::time::Duration::from_millis(600));
    Ok(())
}
