//! Every screen as axe-core judges it: names for screen readers, order, contrast.

use std::fs;

use jumpseat_test_kit as kit;
use jumpseat_test_kit::PartError;
use jumpseat_tests::parts::{BrowserWindow, WebBrowser};
use jumpseat_tests::screens;
use serde_json::Value;

use crate::home::{DEMO, ReviewedHome};

/// Runs axe-core in the page; `arguments[0]` is called with what it found.
const RUN: &str = "
    const done = arguments[arguments.length - 1];
    axe.run(document, { resultTypes: ['violations'] }).then(
        (result) => done({
            rules: result.passes.length + result.violations.length,
            found: result.violations.map(({ id, impact, nodes }) => ({
                id, impact, nodes: nodes.map((node) => `${node.target}: ${node.failureSummary}`),
            })),
        }),
        (error) => done({ error: String(error) }),
    );";

/// Looks at all screens through one window; gives how many, and every finding.
fn findings(window: BrowserWindow) -> (usize, usize, Vec<String>) {
    let home = ReviewedHome::demo();
    let review = home.review(Some(DEMO));
    let mut browser = home.browser(window);
    let script = fs::read_to_string(kit::axe().unwrap()).unwrap();
    let (mut screens, mut serious, mut all) = (0, 0, Vec::new());
    let mut look = |browser: &mut WebBrowser, name: &str| -> Result<(), PartError> {
        browser.script(&script, Vec::new())?;
        let told = browser.script_later(RUN, Vec::new())?;
        assert!(
            told["rules"].as_u64().is_some_and(|rules| rules > 10),
            "{name}: {told}"
        );
        screens += 1;
        for finding in told["found"].as_array().into_iter().flatten() {
            let impact = finding["impact"].as_str().unwrap_or_default();
            serious += usize::from(matches!(impact, "serious" | "critical"));
            let nodes: Vec<&str> = finding["nodes"]
                .as_array()
                .into_iter()
                .flatten()
                .filter_map(Value::as_str)
                .collect();
            all.push(format!(
                "{name}: {impact}: {}: {}",
                finding["id"],
                nodes.join("\n    ")
            ));
        }
        Ok(())
    };
    screens::tour(&mut browser, &review, &mut look).unwrap();
    (screens, serious, all)
}

#[track_caller]
fn check(name: &str, window: BrowserWindow) {
    let (screens, serious, all) = findings(window);
    let found = all.join("\n");
    println!("{found}");
    println!(
        "figure: review: axe-core {name}: {screens} screens, {serious} serious or critical findings, {} lesser ones",
        all.len() - serious
    );
    assert!(screens >= 12 && serious == 0, "{found}");
}

#[test]
fn no_serious_finding_by_day() {
    check("by day", BrowserWindow::DESK);
}

#[test]
fn no_serious_finding_at_night_on_a_phone() {
    check("at night on a phone", BrowserWindow::PHONE.dark());
}
