//! An over: its picture, with the words that were heard in their places, and its text.

use jumpseat_entries::SaidWord;
use jumpseat_speech::DOUBTFUL_WORD;
use maud::{Markup, html};

use super::entry_page::EntryPage;
use super::wording::{capital, clock, percent, sureness};
use crate::open_trips::OpenTrip;
use crate::sound::{PICTURE_SCALE, SoundStrip};
use crate::view::{FieldView, StripWord};

/// A letter's width in a word, and the gap between words, in pixels.
const WORD_LETTER_WIDTH: f64 = 10.5;
const WORD_GAP: f64 = 14.0;
/// The number of rows for words, so that each can stand in its place.
const WORD_ROWS: usize = 3;

pub(super) fn strip(
    view: &EntryPage<'_>,
    open: &OpenTrip,
    trip: &str,
    strip: &SoundStrip,
    (words, text): (&[StripWord], &[SaidWord]),
) -> Markup {
    let who = if strip.sent { "You" } else { "Received" };
    let direction = strip.direction().name();
    let span = format!("{}-{}", strip.first, strip.first + strip.count);
    let trip: String = form_urlencoded::byte_serialize(trip.as_bytes()).collect();
    let at = open.timeline.at_sample(strip.first).value;
    let seconds = strip.to_s - strip.from_s;
    let width = (seconds * PICTURE_SCALE.per_second).ceil();
    let rows = rows(strip, words);
    html! {
        section .strip.(direction) data-from=(format!("{:.3}", strip.from_s))
            data-to=(format!("{:.3}", strip.to_s)) data-sound={ "/sound/" (trip) "/" (direction) "/" (span) "/" }
            data-over=(strip.over)
            aria-label={ "Over " (strip.over + 1) @if strip.goes_on { ", on" } ": " (who) ", " (format!("{seconds:.0}")) " seconds" } {
            header {
                button type="button" .play-strip aria-label={ "Play: " (who) ", " (format!("{seconds:.0}")) " seconds" } {
                    span aria-hidden="true" { "▶" }
                }
                strong { @if strip.goes_on { (who) ", on" } @else { (who) } }
                span .time { @if let Some(at) = at { (clock(at)) } }
                span .time { (format!("{seconds:.1} s")) }
                (part(view, strip))
            }
            div .lane tabindex="0" role="group" aria-label={ (who) ", its sound and words" } {
                div .inner.(format!("deep{}", rows.iter().max().map_or(0, |row| row + 1))) data-scale=(PICTURE_SCALE.per_second) {
                    img src={ "/picture/" (trip) "/" (direction) "/" (span) } width=(width)
                        height=(PICTURE_SCALE.wave + PICTURE_SCALE.spectrum) loading="lazy" decoding="async"
                        alt="Waveform above, spectrum from 150 to 3500 hertz below";
                    (marks(view, strip))
                    div .words {
                        @for (word, row) in words.iter().zip(&rows) { (said(strip, word, *row)) }
                    }
                }
            }
            (written(text))
        }
    }
}

/// What was said, as a line of text.
fn written(text: &[SaidWord]) -> Markup {
    html! {
        @if !text.is_empty() {
            p .transcript {
                @for (index, word) in text.iter().enumerate() {
                    @if index > 0 { " " }
                    @if word.probability < DOUBTFUL_WORD {
                        span .doubtful title={ "doubtful, " (percent(word.probability)) } { (word.text) }
                    } @else { (word.text) }
                }
            }
        }
    }
}

/// The button that splits the entry before this over.
fn part(view: &EntryPage<'_>, strip: &SoundStrip) -> Markup {
    let possible = strip.over > 0 && !strip.goes_on && view.shown.state.is_open();
    html! {
        @if possible {
            form .part method="post" action={ "/entry/" (view.shown.number) "/part" } {
                input type="hidden" name="seen" value=(view.seen);
                input type="hidden" name="over" value=(strip.over);
                button type="submit" aria-label="Take apart here, before this over" { "Take apart here" }
            }
        }
    }
}

fn said(strip: &SoundStrip, word: &StripWord, row: usize) -> Markup {
    html! {
        button type="button" .word.(sureness(word.probability)).(format!("row{row}")) tabindex="-1"
            data-at=(format!("{:.3}", word.from_s - strip.from_s))
            data-from=(format!("{:.3}", word.from_s)) data-to=(format!("{:.3}", word.to_s))
            title={ (word.spoken) ", " (percent(word.probability)) } { (word.text) }
    }
}

/// Where the values were heard.
fn marks(view: &EntryPage<'_>, strip: &SoundStrip) -> Markup {
    html! {
        @for value in &view.shown.values {
            @for (from, to) in value.heard_s.iter().filter(|at| strip.from_s < at.1 && at.0 < strip.to_s) {
                button type="button" .evidence tabindex="-1" data-field=(value.field.key())
                    data-at=(format!("{:.3}", from - strip.from_s)) data-long=(format!("{:.3}", to - from))
                    data-from=(format!("{from:.3}")) data-to=(format!("{to:.3}"))
                    aria-label={ "Play where the " (value.field.label()) " was heard" } {
                    (capital(short(value)))
                }
            }
        }
    }
}

/// The label of a value where there is little room.
fn short(value: &FieldView) -> &'static str {
    match value.form().short_label {
        "" => value.field.label(),
        short => short,
    }
}

/// The row of each word: the first in which it does not overlap the word before.
fn rows(strip: &SoundStrip, words: &[StripWord]) -> Vec<usize> {
    let mut ends = [f64::MIN; WORD_ROWS];
    words
        .iter()
        .map(|word| {
            let x = (word.from_s - strip.from_s) * PICTURE_SCALE.per_second;
            let free = ends.iter().position(|end| *end <= x);
            let row = free.unwrap_or_else(|| {
                let least = ends.iter().copied().fold(f64::MAX, f64::min);
                ends.iter().position(|end| *end <= least).unwrap_or(0)
            });
            ends[row] = x + word.text.chars().count() as f64 * WORD_LETTER_WIDTH + WORD_GAP;
            row
        })
        .collect()
}
