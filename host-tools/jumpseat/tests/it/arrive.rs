//! The evening in one go.

use std::fs;

use crate::case::{HomeCase, TRIP};

#[test]
fn what_is_new_is_drafted_and_what_is_not_is_left_alone() {
    let case = HomeCase::drafted();
    case.run(&["arrive", "card", "--no-page"])
        .code(0)
        .says(&["17 files already in the library", "Nothing new to draft."]);
    // As after an evening that was broken off between pulling and drafting.
    fs::remove_file(case.at(&format!("home/heard/{TRIP}.json"))).unwrap();
    let again = case.run(&["arrive", "card", "--no-page"]);
    again.done().says(&["long:", "KB0QSE"]);
}

#[test]
fn the_board_of_the_station_file_is_the_usual_source() {
    let case = HomeCase::with_card();
    case.run(&["pull"])
        .code(2)
        .says(&["Say where the trips are", "station.toml"]);
    case.write("home/station.toml", "board = \"card\"\n");
    case.run(&["pull"]).code(0).says(&["17 files copied"]);
}
