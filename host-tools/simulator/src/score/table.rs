//! The score as a table for people.

use std::fmt;

use super::draft_score::{DraftScore, MatchedContact};
use super::verdict::FieldVerdict;

impl fmt::Display for DraftScore {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "contacts {}, found {}, missed {}, invented {}, entries to look at {}",
            self.contacts,
            self.found,
            self.missed.len(),
            self.invented.len(),
            self.looks
        )?;
        for (call, at_s) in &self.missed {
            writeln!(f, "  missed: {call} at {at_s:.0} s")?;
        }
        for at_s in &self.invented {
            writeln!(f, "  invented: a contact at {at_s:.0} s")?;
        }
        if self.matched.is_empty() {
            return Ok(());
        }
        writeln!(
            f,
            "{:<10} {:>8} {:>8} {:>9} {:<6} {:<6} {:<8} {:<6} {:<6} {:<9} {:<6}",
            "contact",
            "on",
            "off",
            "place",
            "freq",
            "mode",
            "locator",
            "call",
            "sent",
            "received",
            "name"
        )?;
        for found in &self.matched {
            row(f, found)?;
        }
        write!(f, "(on and off: seconds late; place: metres off)")
    }
}

fn row(f: &mut fmt::Formatter<'_>, found: &MatchedContact) -> fmt::Result {
    let number = |value: Option<f64>, decimals: usize| match value {
        Some(value) => format!("{value:+.decimals$}"),
        None => "blank".into(),
    };
    let place = found
        .place_error_m
        .map_or("blank".into(), |metres| format!("{metres:.0}"));
    writeln!(
        f,
        "{:<10} {:>8} {:>8} {:>9} {:<6} {:<6} {:<8} {:<6} {:<6} {:<9} {:<6}",
        found.contact,
        number(found.on_error_s, 2),
        number(found.off_error_s, 2),
        place,
        word(found.hz),
        word(found.mode),
        word(found.locator),
        word(found.call),
        word(found.sent),
        word(found.received),
        word(found.name),
    )
}

fn word(verdict: FieldVerdict) -> &'static str {
    match verdict {
        FieldVerdict::Right => "right",
        FieldVerdict::Alternative => "second",
        FieldVerdict::Wrong => "WRONG",
        FieldVerdict::Blank => "blank",
    }
}
