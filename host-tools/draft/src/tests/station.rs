//! Tables of what was heard, and the stations that must come of it.

use jumpseat_values::Span;

use crate::fitted::MentionPooling;
use crate::heard::{HeardOver, HeardSign, HeardWord};
use crate::sign_distance::distance;
use crate::station::station_candidates;
use crate::{AssemblyInput, DriveOver, OverDirection, SpeechActivity};

/// Overs of ten seconds, one after the other: `t` or `r`, then the readings of each
/// sign in it with their probabilities in per cent: `t KB0QSE=90,KB0QSA=5 W7QTM=99`.
fn drive(overs: &[&str]) -> AssemblyInput {
    let over = |(index, text): (usize, &&str)| {
        let start_s = 10.0 * index as f64;
        let mut words = text.split(' ');
        let direction = match words.next() {
            Some("t") => OverDirection::Tx,
            _ => OverDirection::Rx,
        };
        let sign = |(place, word): (usize, &str)| HeardSign {
            candidates: word
                .split(',')
                .filter_map(|one| one.split_once('='))
                .map(|(sign, share)| (sign.to_owned(), share.parse::<f64>().unwrap() / 100.0))
                .collect(),
            spans: vec![Span::new(
                start_s + place as f64,
                start_s + place as f64 + 1.0,
            )],
        };
        DriveOver {
            direction,
            start_s,
            end_s: start_s + 10.0,
            activity: SpeechActivity::Found(Vec::new()),
            heard: Some(HeardOver {
                signs: words.enumerate().map(sign).collect(),
                ..HeardOver::default()
            }),
        }
    };
    AssemblyInput {
        length_s: 10.0 * overs.len() as f64,
        overs: overs.iter().enumerate().map(over).collect(),
        own: Some("W7QTM".into()),
        ..AssemblyInput::default()
    }
}

/// The signs found, those that the operator called first.
fn signs(drive: &AssemblyInput) -> Vec<String> {
    let all: Vec<usize> = (0..drive.overs.len()).collect();
    let found = station_candidates(
        drive,
        &all,
        &Span::new(0.0, drive.length_s),
        &MentionPooling::default(),
    );
    found.into_iter().filter_map(|one| one.call.value).collect()
}

#[track_caller]
fn check(overs: &[&str], expected: &[&str]) {
    assert_eq!(signs(&drive(overs)), expected, "{overs:?}");
}

#[test]
fn one_station_is_pooled_over_all_overs() {
    check(&["t KB0QSE=90", "r KB0QSE=60,KB0QSA=30"], &["KB0QSE"]);
    // Second everywhere, and yet the one that explains them all.
    check(
        &[
            "r KB0QSA=50,KB0QSE=45",
            "r KB0QST=50,KB0QSE=45",
            "r KB0QSS=50,KB0QSE=45",
        ],
        &["KB0QSE"],
    );
    // Misheard first, corrected on the air.
    check(
        &[
            "t KB0QSA=95",
            "r KB0QSE=70,KB0QSA=20",
            "t KB0QSE=95",
            "r KB0QSE=80",
        ],
        &["KB0QSE"],
    );
    check(&[], &[]);
}

#[test]
fn the_operators_own_sign_is_nobody_else() {
    check(
        &["t W7QTM=90 KB0QSE=80", "r W7QTM=60,K7QTM=30"],
        &["KB0QSE"],
    );
    check(&["t W7QTM=90", "r 7QTM=60"], &[]);
}

#[test]
fn stations_stay_apart_and_the_one_called_comes_first() {
    check(
        &["r N5QRR=90 K9QSX=80", "t K9QSX=90", "r K9QSX=70"],
        &["K9QSX", "N5QRR"],
    );
}

#[test]
fn a_sign_that_faded_at_an_end_is_explained_by_the_whole_one() {
    check(
        &[
            "t G3QRI=96,G3QR=4",
            "r G3QR=50",
            "r G3QR=40",
            "t G3QRI=96,G3QR=4",
        ],
        &["G3QRI"],
    );
    // What was never heard whole is not made whole.
    check(&["t G3QR=96", "r G3QR=50,G3QRI=5"], &["G3QR"]);
}

#[test]
fn a_sign_that_the_operator_asks_about_gives_way_to_the_answer() {
    let mut asked = drive(&["t N0QRA=97", "r N0QRD=55"]);
    let word = HeardWord {
        word: "correct".into(),
        symbol: String::new(),
        is_name: false,
        span: Span::new(2.0, 2.5),
        probability: 0.9,
    };
    assert_eq!(signs(&asked), ["N0QRA"]);
    if let Some(heard) = &mut asked.overs[0].heard {
        heard.words.push(word);
    }
    assert_eq!(signs(&asked), ["N0QRD"]);
}

#[test]
fn the_three_of_a_farewell_is_no_part_of_the_sign_after_it() {
    let mut drive = drive(&["t 3G3QRI=60,G3QRI=20", "r G3QRI=60"]);
    let word = |word: &str, symbol: &str, start_s: f64| HeardWord {
        word: word.into(),
        symbol: symbol.into(),
        is_name: false,
        span: Span::new(start_s, start_s + 0.3),
        probability: 0.9,
    };
    if let Some(heard) = &mut drive.overs[0].heard {
        heard.words = vec![word("seven", "7", -0.4), word("three", "3", 0.0)];
    }
    assert_eq!(signs(&drive), ["G3QRI"]);
}

#[test]
fn a_sign_worked_before_wins_a_tie_and_no_more() {
    let mut tie = drive(&["r KB0QSA=48,KB0QSE=46"]);
    tie.worked = vec!["KB0QSE".into()];
    assert_eq!(signs(&tie), ["KB0QSE"]);
    let mut clear = drive(&["t KB0QSA=97,KB0QSE=1", "r KB0QSA=90,KB0QSE=2"]);
    clear.worked = vec!["KB0QSE".into()];
    assert_eq!(signs(&clear), ["KB0QSA"]);
}

#[test]
fn distances_are_those_of_the_textbook() {
    for (one, other, expected) in [
        ("", "", 0),
        ("ABC", "ABC", 0),
        ("ABC", "AXC", 1),
        ("KITTEN", "SITTING", 3),
    ] {
        assert_eq!(distance(one, other), expected);
    }
}
