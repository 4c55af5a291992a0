//! Undo: an action is undone and redone.

use crate::case::HomeCase;

#[test]
fn the_newest_action_first_and_any_by_its_number() {
    let case = HomeCase::drafted();
    case.run(&["confirm", "1", "--call", "KB0QSE"])
        .code(0)
        .says(&["undo`"]);
    case.run(&["confirm", "2", "--call", "N0QRD"]).code(0);
    case.run(&["undo", "--list"]).code(0).says(&[
        "3 ",
        "confirmed entry 2: N0QRD",
        "confirmed entry 1: KB0QSE",
        "drafted trip-000001-3fa2c1: 2 new",
    ]);
    case.run(&["undo", "2"]).code(0).says(&[
        "Undone: confirmed entry 1: KB0QSE (1 entry)",
        "undo 4` redoes it",
    ]);
    case.run(&["log"]).code(0).says(&["2 entries, 1 confirmed"]);
    case.run(&["undo"]).code(0).says(&["confirmed entry 2"]);
    case.run(&["undo", "4"]).code(0);
    let log = case.run(&["log", "--json"]).code(0).json();
    assert_eq!(log[0]["contact"]["call"], "KB0QSE");
    assert!(log[1]["contact"].is_null());
    case.run(&["undo", "1"])
        .code(1)
        .says(&["entry 1 was changed by action 6 since. Undo action 6 first"]);
    let list = case.run(&["undo", "--list", "--json"]).code(0).json();
    assert_eq!(list.as_array().unwrap().len(), 6);
    assert_eq!(list[4]["what"], "confirmed entry 1: KB0QSE");
}

#[test]
fn where_nothing_was_done_nothing_is_undone() {
    let case = HomeCase::empty();
    case.run(&["undo"])
        .code(1)
        .says(&["nothing to undo; `jumpseat undo --list`"]);
    case.run(&["undo", "--list"])
        .code(0)
        .says(&["Nothing has been done"]);
    case.run(&["undo", "7"]).code(1).says(&["no action 7"]);
    case.run(&["undo", "--list", "7"]).code(2).says(&["--list"]);
    assert!(!case.home().exists());
}
