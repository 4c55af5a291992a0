//! What the review page needs for a trip of ten hours with 80 contacts:
//!
//!     review_bench [TIMES] [FOLDER]     the trip is TIMES quarters of an hour [40]; it is
//!                                       kept in FOLDER and used again from there
//!
//! It makes the trip, drafts it with the real command and looks at it with a real
//! browser, whose own clock says when the first words were painted.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use anyhow::{Context as _, Result};
use jumpseat_test_kit::wait_until;
use jumpseat_tests::long_trip;
use jumpseat_tests::parts::{BrowserWindow, ReviewProcess, WebBrowser, pull_and_draft};

const TRIP: &str = "trip-000001-3fa2c1";
/// Looks at each page.
const LOOKS: usize = 9;

fn main() -> Result<()> {
    let times = match std::env::args().nth(1) {
        Some(word) => word.parse().context("TIMES is a whole number")?,
        None => 40,
    };
    let folder = tempfile::tempdir()?;
    let kept = std::env::args_os().nth(2);
    let place = kept.map_or_else(|| folder.path().to_owned(), PathBuf::from);
    let (card, home) = (place.join("card"), place.join("home"));
    if !home.exists() {
        let begin = Instant::now();
        long_trip::write(&card, times)?;
        pull_and_draft(&card, &home)?;
        eprintln!(
            "made, pulled and drafted in {:.0} s",
            begin.elapsed().as_secs_f64()
        );
    }

    let review = ReviewProcess::start(&home, Some(TRIP))?;
    let browser = WebBrowser::start(folder.path(), BrowserWindow::DESK)?;
    let begin = Instant::now();
    browser.go(&review.link)?;
    browser.arrive("/trip/")?;
    let entries = browser.text("document.querySelectorAll('.entries li').length")?;
    let long = browser.text("document.querySelector('.facts').innerText")?;
    println!("figure: review bench: {long} {entries} entries");
    println!(
        "figure: review bench: from the first link to the trip, read for the first time: {:.0} ms",
        begin.elapsed().as_secs_f64() * 1e3
    );
    let origin = format!("http://127.0.0.1:{}", review.port);
    look(
        &browser,
        "trip, while pictures are made",
        &format!("{origin}/trip/{TRIP}"),
    )?;
    let kept = home.join("review/pictures");
    let pictures = || std::fs::read_dir(&kept).map_or(0, Iterator::count);
    let mut last = 0;
    // Ready when none came for two seconds.
    wait_until(Duration::from_secs(300), || {
        let before = std::mem::replace(&mut last, pictures());
        std::thread::sleep(Duration::from_secs(2));
        before == pictures()
    });
    println!(
        "figure: review bench: {} pictures of overs are ready",
        pictures()
    );
    look(&browser, "trip", &format!("{origin}/trip/{TRIP}"))?;
    let entry = browser.text("document.querySelector('.entries a').getAttribute('href')")?;
    look(&browser, "entry", &format!("{origin}{entry}"))?;
    // What the browser itself needs, on this machine at this time.
    look(&browser, "a page of ten lines", &format!("{origin}/export"))?;
    let usage = review.usage()?;
    println!(
        "figure: review bench: the server took {:.1} MiB at most and {:.1} s of processor time",
        usage.peak_mib, usage.cpu_s
    );
    Ok(())
}

/// Opens a page several times; prints the median of when it was painted and answered.
fn look(browser: &WebBrowser, name: &str, address: &str) -> Result<()> {
    let mut painted = Vec::new();
    let mut answered = Vec::new();
    for _ in 0..LOOKS {
        browser.go(address)?;
        let entry = "performance.getEntriesByName('first-contentful-paint')[0]";
        browser.until(&format!("{entry} !== undefined"))?;
        let number = |expression: &str| -> Result<f64> {
            let value = browser.value(expression)?;
            value.as_f64().context("the browser gave no time")
        };
        painted.push(number(&format!("{entry}.startTime"))?);
        answered.push(number(
            "performance.getEntriesByType('navigation')[0].responseEnd",
        )?);
    }
    println!(
        "figure: review bench: {name}: first paint {:.0} ms, answered whole after {:.0} ms (medians of {LOOKS})",
        median(painted),
        median(answered)
    );
    Ok(())
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or_default()
}
