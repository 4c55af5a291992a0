//! What is said in a sound file.

#[cfg(target_os = "linux")]
mod long;

use std::fs;

use crate::case::{HomeCase, TRIP};

#[test]
fn a_trips_own_files_are_heard_and_read_like_speech() {
    let case = HomeCase::with_card();
    let over = format!("card/{TRIP}/audio/000005-rx.flac");
    case.run(&["hear", &over]).code(0).says(&[
        "mobile this is kilo bravo zero quebec sierra echo",
        "call sign KB0QSE 9",
        "said 2 times",
    ]);
    let heard = case.run(&["hear", &over, "--json"]).code(0).json();
    assert!(heard[0]["words"].as_array().unwrap().len() > 15);
}

#[test]
fn a_flac_file_that_was_cut_is_told() {
    let case = HomeCase::with_card();
    let mut bytes = fs::read(case.at(&format!("card/{TRIP}/audio/000005-rx.flac"))).unwrap();
    bytes.truncate(bytes.len() / 2);
    case.write("cut.FLAC", bytes);
    case.run(&["hear", "cut.FLAC"]).code(1).says(&[
        "cut.FLAC",
        "cut after",
        "mend it or cut it there",
    ]);
}

#[test]
fn what_is_no_sound_is_refused() {
    let case = HomeCase::empty();
    for name in ["letter.wav", "letter.flac"] {
        case.write(name, "dear friend, this is no sound");
        case.run(&["hear", name]).code(1).says(&[name]);
    }
    case.run(&["hear", "away.wav"])
        .code(1)
        .says(&["there is no file away.wav"]);
}
