//! The time line: the drive as a road seen from above. What was sent is in the lane above
//! the middle line, what was received in the lane below it.

use jumpseat_values::display::length;
use jumpseat_values::display::megahertz;
use maud::{Markup, html};

use super::wording::clock;
use crate::view::{EntryView, TripOverview, TripStretch};

/// Width of the drawing and of its margin for the clock, in its own units.
const ROAD_WIDTH: f64 = 1200.0;
const CLOCK_MARGIN: f64 = 76.0;
/// Height of one row, and where the road lies in it.
const ROW_HEIGHT: f64 = 118.0;
const ROAD_TOP: f64 = 42.0;
const ROAD_HEIGHT: f64 = 40.0;
/// A row holds one of these numbers of seconds, and there are at most this many rows.
const SPANS_S: [f64; 6] = [300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0];
const MOST_ROWS: f64 = 10.0;
/// A letter's width in the labels.
const LABEL_LETTER_WIDTH: f64 = 11.0;

/// One row: from which second, and how many.
#[derive(Clone, Copy)]
struct RoadRow {
    from_s: f64,
    span_s: f64,
}

impl RoadRow {
    fn x(&self, at_s: f64) -> f64 {
        let share = ((at_s - self.from_s) / self.span_s).clamp(0.0, 1.0);
        CLOCK_MARGIN + share * (ROAD_WIDTH - CLOCK_MARGIN - 8.0)
    }

    fn holds(&self, at_s: f64) -> bool {
        (self.from_s..self.from_s + self.span_s).contains(&at_s)
    }

    fn meets(&self, stretch: TripStretch) -> bool {
        stretch.from_s < self.from_s + self.span_s && self.from_s < stretch.to_s
    }
}

/// Labels on one line that do not overlap.
struct RoadLabels(f64);

impl RoadLabels {
    /// Whether a label of this many letters fits at `x`; if so, the place is taken.
    fn fits(&mut self, x: f64, letters: usize) -> bool {
        let free = x >= self.0 && x + letters as f64 * LABEL_LETTER_WIDTH <= ROAD_WIDTH + 30.0;
        if free {
            self.0 = x + (letters as f64 + 1.0) * LABEL_LETTER_WIDTH;
        }
        free
    }
}

pub(super) fn road(glance: &TripOverview, entries: &[EntryView]) -> Markup {
    let length_s = glance.length_s.max(1.0);
    let span_s = SPANS_S
        .into_iter()
        .find(|span| length_s / span <= MOST_ROWS)
        .unwrap_or(length_s / MOST_ROWS);
    // A little over a full row does not get a row of its own.
    let span_s = if length_s <= 600.0 { length_s } else { span_s };
    let rows = (length_s / span_s).ceil().clamp(1.0, 50.0) as u32;
    let height = f64::from(rows) * ROW_HEIGHT;
    html! {
        div .scroll tabindex="0" role="region" aria-label="Time line of the drive" {
            svg .road viewBox={ "0 0 " (ROAD_WIDTH) " " (height) } role="group"
                aria-label="Time line: your overs, what came back, marks, dial and entries" {
                defs {
                    pattern #lost width="8" height="8" patternUnits="userSpaceOnUse"
                        patternTransform="rotate(45)" {
                        rect .lost-ground width="8" height="8" {}
                        rect .lost-line width="4" height="8" {}
                    }
                }
                @for row in 0..rows {
                    g transform={ "translate(0 " (f64::from(row) * ROW_HEIGHT) ")" } {
                        (one(glance, entries, RoadRow { from_s: f64::from(row) * span_s, span_s }))
                    }
                }
            }
        }
        (legend(glance))
    }
}

fn one(glance: &TripOverview, entries: &[EntryView], row: RoadRow) -> Markup {
    let ends = row.x(glance.length_s);
    let middle = ROAD_TOP + ROAD_HEIGHT / 2.0;
    let begins = glance.begins.map(|time| {
        let seconds = chrono::TimeDelta::milliseconds((row.from_s * 1e3) as i64);
        time.checked_add_signed(seconds).unwrap_or(time)
    });
    html! {
        text .hour x="0" y=(middle + 6.0) {
            @match begins { Some(time) => { (clock(time).get(..5).unwrap_or_default()) }
                None => { "+" (length(row.from_s)) } }
        }
        rect .asphalt x=(CLOCK_MARGIN) y=(ROAD_TOP) height=(ROAD_HEIGHT) width=(num(ends - CLOCK_MARGIN)) rx="4" {}
        @for lost in glance.lost.iter().filter(|lost| row.meets(**lost)) {
            (block("lost", row, *lost, ROAD_TOP, ROAD_HEIGHT))
        }
        line .middle x1=(CLOCK_MARGIN) x2=(num(ends)) y1=(middle) y2=(middle) {}
        @for sent in glance.sent.iter().filter(|sent| row.meets(**sent)) {
            (block("sent", row, *sent, ROAD_TOP + 4.0, ROAD_HEIGHT / 2.0 - 7.0))
        }
        @for heard in glance.speech.iter().filter(|heard| row.meets(**heard)) {
            (block("heard", row, *heard, middle + 3.0, ROAD_HEIGHT / 2.0 - 7.0))
        }
        @for mark in glance.marks_s.iter().filter(|mark| row.holds(**mark)) {
            path .mark d=(diamond(row.x(*mark), middle)) { title { "mark" } }
        }
        (dial(glance, row))
        @for trouble in glance.troubles.iter().filter(|trouble| row.holds(trouble.at_s)) {
            path .trouble d=(triangle(row.x(trouble.at_s), ROAD_TOP + ROAD_HEIGHT + 2.0)) {
                title { (trouble.words) }
            }
        }
        (contacts(entries, row))
    }
}

fn block(class: &str, row: RoadRow, stretch: TripStretch, y: f64, height: f64) -> Markup {
    let (from, to) = (row.x(stretch.from_s), row.x(stretch.to_s));
    html! {
        rect .(class) x=(num(from)) y=(y) height=(height) width=(num((to - from).max(1.5))) rx="2" {}
    }
}

/// Where the dial was turned: a post below the road with its sign.
fn dial(glance: &TripOverview, row: RoadRow) -> Markup {
    let mut line = RoadLabels(CLOCK_MARGIN);
    let y = ROAD_TOP + ROAD_HEIGHT;
    html! {
        @for (at_s, setting) in glance.dial.iter().filter(|change| row.holds(change.0.max(0.0))) {
            @let x = row.x(*at_s);
            @let label = format!("{} {}", megahertz(setting.hz), setting.mode);
            line .post x1=(num(x)) x2=(num(x)) y1=(y) y2=(y + 12.0) {}
            @if line.fits(x, label.chars().count()) {
                text .sign x=(num(x)) y=(y + 29.0) { (label) }
            }
        }
    }
}

/// Entries as brackets above the road, each a link.
fn contacts(entries: &[EntryView], row: RoadRow) -> Markup {
    let mut line = RoadLabels(CLOCK_MARGIN);
    html! {
        @for entry in entries {
            @if let Some((on_s, off_s)) = entry.on_s.zip(entry.off_s) {
                @let stretch = TripStretch { from_s: on_s, to_s: off_s.max(on_s + 0.1) };
                @if row.meets(stretch) {
                    @let (from, to) = (row.x(on_s), row.x(off_s));
                    @let label = entry.call.clone().unwrap_or_else(|| "?".into());
                    a .contact.(entry.state.class()) href={ "/entry/" (entry.number) }
                        aria-label={ "Entry " (entry.number) ", " (label) ", " (entry.state.label()) } {
                        rect .reach x=(num(from)) y=(ROAD_TOP - 10.0) height="7" width=(num((to - from).max(6.0))) rx="3" {}
                        rect .touch x=(num(from)) y="4" height=(ROAD_TOP + ROAD_HEIGHT) width=(num((to - from).max(16.0))) {}
                        @if line.fits(from, label.chars().count()) {
                            text .call x=(num(from)) y=(ROAD_TOP - 16.0) { (label) }
                        }
                    }
                }
            }
        }
    }
}

fn legend(glance: &TripOverview) -> Markup {
    html! {
        ul .legend {
            li { span .swatch.sent {} "you" }
            li { span .swatch.heard {} "speech received" }
            @if !glance.marks_s.is_empty() { li { span .swatch.mark {} "mark" } }
            @if !glance.lost.is_empty() { li { span .swatch.lost {} "no sound" } }
            @if !glance.troubles.is_empty() { li { span .swatch.trouble {} "trouble" } }
        }
    }
}

fn diamond(x: f64, y: f64) -> String {
    format!("M{:.1} {:.1}l7 7l-7 7l-7 -7z", x, y - 7.0)
}

fn triangle(x: f64, y: f64) -> String {
    format!("M{x:.1} {y:.1}l7 12h-14z")
}

fn num(value: f64) -> String {
    format!("{value:.1}")
}
