//! Tables of what was heard, and the reports, names and remarks that must come of it.
//!
//! An over is written as the words that were heard, one every 0.4 s: `r` or `t`, then
//! words; `|` is a pause, `tom*` a first name, `word?` a doubtful one, `=KB0QSE` a call
//! sign, `57!` a report and `Tom!` a name that the recogniser took for one, `57!?` a
//! doubtful one. After `~` comes the text of the over in the same way.

mod text_names;
mod text_reports;

use jumpseat_values::{Estimate, Span};

use super::StationPart;
use crate::attribution::SpeakerAttribution;
use crate::fitted::MentionPooling;
use crate::heard::{HeardOver, HeardSign, HeardText, HeardWord, WrittenWord};
use crate::spoken::SpokenFormShares;
use crate::{AssemblyInput, DriveOver, OverDirection, SpeechActivity, station};

const WORD_S: f64 = 0.4;
const PAUSE_S: f64 = 0.4;
const OVER_S: f64 = 60.0;

/// Letters are named by their spelling words (ITU Radio Regulations, Appendix 14).
const SYMBOLS: [(&str, &str); 22] = [
    ("zero", "0"),
    ("one", "1"),
    ("two", "2"),
    ("three", "3"),
    ("four", "4"),
    ("five", "5"),
    ("seven", "7"),
    ("nine", "9"),
    ("alfa", "A"),
    ("charlie", "C"),
    ("delta", "D"),
    ("echo", "E"),
    ("kilo", "K"),
    ("mike", "M"),
    ("november", "N"),
    ("oscar", "O"),
    ("quebec", "Q"),
    ("romeo", "R"),
    ("sierra", "S"),
    ("tango", "T"),
    ("golf", "G"),
    ("whiskey", "W"),
];

fn over(start_s: f64, text: &str) -> DriveOver {
    let mut words = text.split(' ');
    let direction = match words.next() {
        Some("t") => OverDirection::Tx,
        _ => OverDirection::Rx,
    };
    let mut heard = HeardOver::default();
    let mut at_s = start_s + 1.0;
    let mut text = false;
    for word in words {
        if word == "~" {
            (text, at_s) = (true, start_s + 1.0);
            continue;
        }
        if word == "|" {
            at_s += PAUSE_S;
            continue;
        }
        let span = Span::new(at_s, at_s + WORD_S - 0.05);
        at_s += WORD_S;
        let taken = |text: &str, probability: f64| HeardText {
            text: text.to_owned(),
            probability,
            span,
        };
        if text {
            // 'jefry/Jeffrey=0.8': a word, and a name that it may be by its sound.
            let mut parts = word.split('/');
            let word = parts.next().unwrap_or_default();
            let names = parts.map(|name| {
                let (name, p) = name.split_once('=').unwrap_or((name, "1"));
                (name.to_owned(), p.parse().unwrap_or_default())
            });
            heard.text.push(WrittenWord {
                word: word.trim_end_matches('?').to_owned(),
                span,
                probability: if word.ends_with('?') { 0.5 } else { 0.97 },
                names: names.collect(),
            });
        } else if let Some(sign) = word.strip_prefix('=') {
            heard.signs.push(HeardSign {
                candidates: vec![(sign.to_owned(), 0.95)],
                spans: vec![span],
            });
        } else if let Some(text) = word.trim_end_matches('?').strip_suffix('!') {
            let probability = if word.ends_with('?') { 0.7 } else { 0.95 };
            let figures = text.starts_with(|first: char| first.is_ascii_digit());
            let list = if figures {
                &mut heard.reports
            } else {
                &mut heard.names
            };
            list.push(taken(text, probability));
        } else {
            let plain = word.trim_end_matches(['*', '?']);
            let symbol = SYMBOLS.iter().find(|(name, _)| *name == plain);
            heard.words.push(HeardWord {
                word: plain.to_owned(),
                symbol: symbol.map_or(String::new(), |(_, symbol)| (*symbol).to_owned()),
                is_name: word.contains('*') || matches!(plain, "mike" | "oscar"),
                span,
                probability: if word.ends_with('?') { 0.5 } else { 0.97 },
            });
        }
    }
    DriveOver {
        direction,
        start_s,
        end_s: start_s + OVER_S,
        activity: SpeechActivity::Found(Vec::new()),
        heard: Some(heard),
    }
}

#[track_caller]
fn check(overs: &[&str], expected: &[&str]) {
    assert_eq!(found(overs), expected);
}

/// Checks a table of single overs, without their directions.
#[track_caller]
fn check_each(direction: &str, cases: &[(&str, &str)]) {
    let all: Vec<(&str, String)> = cases
        .iter()
        .map(|(text, _)| (*text, found(&[&format!("{direction} ~ {text}")]).join(", ")))
        .collect();
    let wrong = all.iter().zip(cases).filter(|(got, case)| got.1 != case.1);
    let wrong: Vec<_> = wrong.map(|(got, _)| got).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// "sent received name", then what there is of remark and locator, for each station in
/// the order in which they were called.
fn found(overs: &[&str]) -> Vec<String> {
    let drive = AssemblyInput {
        length_s: OVER_S * overs.len() as f64,
        overs: overs
            .iter()
            .enumerate()
            .map(|(at, text)| over(OVER_S * at as f64, text))
            .collect(),
        own: Some("W7QTM".into()),
        ..AssemblyInput::default()
    };
    let all: Vec<usize> = (0..overs.len()).collect();
    let span = Span::new(0.0, drive.length_s);
    let mut stations = station::station_candidates(&drive, &all, &span, &MentionPooling::default());
    stations.sort_by(|one, other| one.called_s.total_cmp(&other.called_s));
    let company = SpeakerAttribution::of(&drive, &stations);
    let shares = SpokenFormShares::default();
    let line = |station: usize| {
        let part = StationPart {
            drive: &drive,
            overs: &all,
            span,
            company: &company,
            station,
        };
        let text = |value: Option<String>| value.unwrap_or_else(|| "-".into());
        let mut line = format!(
            "{} {} {}",
            text(part.report(OverDirection::Tx, &shares).value),
            text(part.report(OverDirection::Rx, &shares).value),
            text(part.name(&shares).value),
        );
        for more in [part.remark(&shares), part.their_locator(&shares)] {
            line += &more
                .value
                .map_or(String::new(), |value| format!(" {value}"));
        }
        line
    };
    (0..stations.len().max(1)).map(line).collect()
}

#[test]
fn reports_are_pairs_of_figures_that_are_said_as_such() {
    check(&["r you are 57!", "t =KB0QSE five and nine"], &["59 57 -"]);
    check(&["t you are five seven =KB0QSE"], &["57 - -"]);
    check(&["t your five seven five seven thanks"], &["57 - -"]);
    check(&["t your five? seven? five seven thanks"], &["57 - -"]);
    check(&["t you are five nine seven three"], &["59 - -"]);
    // Signs, roads, watts and numbers have figures, too.
    check(&["r whiskey seven quebec | four two | 41?"], &["- - -"]);
    check(&["r the road is five nine one two"], &["- - -"]);
    check(
        &["t roger number five nine seven three you are four and four"],
        &["44 - - number 5973"],
    );
    // A name may be a guess, a report that is hardly likelier than not is asked for.
    check(&["r you are 57!? my name is Tom!?"], &["- - Tom"]);
    check(&["r you are 57!? | 57!?"], &["- 57 -"]);
    // A report said two ways is left blank, with both as alternatives.
    check(&["r you are 57! | again | 59!"], &["- - -"]);
}

#[test]
fn what_the_recogniser_takes_for_a_report_is_none_within_a_number() {
    let drive = |text: &str| AssemblyInput {
        overs: vec![over(0.0, text)],
        ..AssemblyInput::default()
    };
    let told = |text: &str| {
        let mut drive = drive(text);
        if let Some(heard) = &mut drive.overs[0].heard {
            let pair = Span::new(heard.words[1].span.start_s, heard.words[2].span.end_s);
            heard.reports = vec![HeardText {
                text: "57".into(),
                probability: 0.95,
                span: pair,
            }];
        }
        super::reports::spoken_reports(&drive, &[0], OverDirection::Rx)
            .iter()
            .any(|said| said.way == crate::spoken::SpokenForm::ReportTold)
    };
    assert!(told("r are five seven"));
    assert!(told("r are five seven five seven"));
    assert!(told("r are five seven seven three"));
    assert!(!told("r number five seven"));
    assert!(!told("r are five seven one two"));
}

#[test]
fn names_are_given_called_or_spelled() {
    check(&["r my name is Tom!"], &["- - Tom"]);
    check(&["t thank you tom* seven three"], &["- - Tom"]);
    check(&["t tom* is far away"], &["- - -"]);
    check(&["r my name is <word> | tango oscar mike"], &["- - Tom"]);
    // A call sign follows at once.
    check(
        &["r my name is <word> | tango oscar mike | sierra mike zero quebec"],
        &["- - Tom"],
    );
    // The name itself was taken for letters.
    check(
        &["r name is romeo? echo? mike alfa romeo charlie oscar"],
        &["- - Marco"],
    );
    // 'Mike' among letters is nobody, and so is the operator himself.
    check(&["t you | whiskey mike quebec"], &["- - -"]);
    check(
        &["t my name is Martin!", "r thanks Martin! | my name is Tom!"],
        &["- - Tom"],
    );
}

#[test]
fn numbers_and_locators_are_kept_when_a_word_announces_them() {
    check(
        &["r you are 59! number one seven nine three"],
        &["- 59 - number 1793"],
    );
    check(&["r my grid is | delta november four one"], &["- - -"]);
    check(&["r grid delta november four one"], &["- - - DN41"]);
    check(&["r grid delta tango four one"], &["- - -"]);
    check(
        &["r reference kilo one two three four"],
        &["- - - reference K1234"],
    );
    check(&["r a number of people"], &["- - -"]);
}

#[test]
fn in_a_round_every_station_has_its_own_words() {
    check(
        &[
            "t =KB0QSE | =W7QTM",
            "r name is Tom! you are 57! | =W7QTM | =KB0QSE <word> <word> <word> <word> <word> \
             <word> name is Anna! | =KB0QSE | =N0QRD",
            "t =N0QRD you are five and five | <word> <word> <word> thank you anna*",
        ],
        &["- 57 Tom", "55 - Anna"],
    );
    // Who was called speaks next, if he gives no sign.
    check(
        &[
            "t =KB0QSE good evening",
            "r =W7QTM =KB0QSE",
            "t =N0QRD go ahead",
            "r name is Anna!",
            "t =N0QRD",
            "r =N0QRD",
        ],
        &["- - -", "- - Anna"],
    );
}

#[test]
fn a_name_or_place_that_was_not_made_out_says_where_to_listen() {
    let drive = AssemblyInput {
        length_s: OVER_S,
        overs: vec![over(0.0, "r my name is <word> my qth is <word>")],
        ..AssemblyInput::default()
    };
    let company = SpeakerAttribution::of(&drive, &[]);
    let part = StationPart {
        drive: &drive,
        overs: &[0],
        span: Span::new(0.0, OVER_S),
        company: &company,
        station: 0,
    };
    let shares = SpokenFormShares::default();
    let starts = |judged: Estimate<String>| -> Vec<f64> {
        let round = |seconds: f64| (seconds * 1e3).round() / 1e3;
        judged.evidence.iter().map(|at| round(at.start_s)).collect()
    };
    assert_eq!(starts(part.name(&shares)), [1.4]);
    assert_eq!(starts(part.their_locator(&shares)), [3.0]);
}
