//! Pictures of every screen of the review page, by day and at night, on a desk and on a
//! phone, to be looked at:
//!
//!     review_screens FOLDER

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result};
use jumpseat_test_kit::{PartError, demo_card};
use jumpseat_tests::journal_file;
use jumpseat_tests::parts::{BrowserWindow, ReviewProcess, WebBrowser, drafted_demo, drafted_from};
use jumpseat_tests::screens::{self, open, say};

/// A phone's height cannot be changed while it is looked at, so this one is long.
const TALL_PHONE: BrowserWindow = BrowserWindow {
    height: 2400,
    ..BrowserWindow::PHONE
};

fn main() -> Result<()> {
    let folder = std::env::args_os()
        .nth(1)
        .context("say into which folder")?;
    let folder = PathBuf::from(folder);
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    for (name, window) in [
        ("desk-day", BrowserWindow::DESK),
        ("desk-night", BrowserWindow::DESK.dark()),
        ("phone-day", TALL_PHONE),
        ("phone-night", TALL_PHONE.dark()),
    ] {
        all(&folder, name, window)?;
    }
    Ok(())
}

/// Every screen through one window.
fn all(folder: &Path, window_name: &str, window: BrowserWindow) -> Result<()> {
    let work = tempfile::tempdir()?;
    let mut browser = WebBrowser::start(work.path(), window)?;
    let mut take = |browser: &mut WebBrowser, name: &str| {
        let file = folder.join(format!("{name}-{window_name}.png"));
        println!("{}", file.display());
        let picture = browser.whole_picture()?;
        fs::write(&file, picture).map_err(PartError::file(&file))
    };
    let home = work.path().join("demo");
    drafted_demo(&home)?;
    let review = ReviewProcess::start(&home, Some("1"))?;
    screens::tour(&mut browser, &review, &mut take)?;

    // Words of a length that nobody expects.
    open(&mut browser, &review, "/entry/1")?;
    say(
        &mut browser,
        "name",
        "Wolfeschlegelsteinhausenbergerdorff, Hubert Blaine, the younger",
    )?;
    say(&mut browser, "call", "VK9/KB0QSE/P")?;
    open(&mut browser, &review, "/entry/1")?;
    take(&mut browser, "entry-long-words")?;
    open(&mut browser, &review, "/trip/trip-000001-3fa2c1")?;
    take(&mut browser, "trip-long-words")?;
    // What has the focus is seen.
    open(&mut browser, &review, "/trip/trip-000001-3fa2c1")?;
    browser.press('\u{e004}')?;
    browser.press('\u{e004}')?;
    take(&mut browser, "trip-focus")?;

    // Neither time nor place nor dial.
    let home = work.path().join("bare");
    drafted_from(&demo_card(), &home, |journal| {
        let mut records = journal_file::records(journal);
        records.retain(|record| {
            use jumpseat_core::journal::JournalEvent::{Dial, PositionFix, TimeFix};
            !matches!(
                record.event,
                Dial { .. } | PositionFix { .. } | TimeFix { .. }
            )
        });
        journal_file::text(records).unwrap_or_default()
    })?;
    let review = ReviewProcess::start(&home, Some("1"))?;
    browser.go(&review.link)?;
    browser.arrive("/trip/")?;
    take(&mut browser, "trip-without-time")?;
    open(&mut browser, &review, "/entry/1")?;
    take(&mut browser, "entry-without-time")?;

    let review = ReviewProcess::start(&work.path().join("empty"), None)?;
    browser.go(&review.link)?;
    browser.until("location.pathname === '/'")?;
    take(&mut browser, "trips-none")?;
    Ok(())
}
