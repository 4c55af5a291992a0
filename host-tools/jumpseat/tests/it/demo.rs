//! The demo, from the card to the exported file.

use crate::case::{HomeCase, names};

#[test]
fn goes_through_every_step_and_twice_over() {
    let case = HomeCase::empty();
    for _ in 0..2 {
        case.run(&["demo", "--into", "demo"]).code(0).says(&[
            "2 contacts, 1 unanswered call",
            "confirm 1 --call KB0QSE --sent 59 --received 57 --name Ruth",
            "14.2875 USB KB0QSE Ruth 59/57 DN51em",
            "146.550 FM N0QRD Walt 58/59 DN51fm",
            "demo/contacts.adi: 2 contacts",
            "jumpseat --home demo/home log",
            "jumpseat --home demo/home review 1",
            "jumpseat arrive FOLDER",
        ]);
    }
    let adi = case.read("demo/contacts.adi");
    assert_eq!(adi.matches("<EOR>").count(), 2);
    assert!(adi.contains("<CALL:6>KB0QSE"));
    assert_eq!(names(&case.at("demo")), ["card", "contacts.adi", "home"]);
    // The home given with --home is not touched.
    assert!(!case.home().exists());
}

#[test]
fn what_it_tells_to_type_can_be_typed_before_it_is_installed() {
    let case = HomeCase::empty();
    let ran = case.run_with_path("nowhere".as_ref(), &["demo", "--into", "demo"]);
    let program = env!("CARGO_BIN_EXE_jumpseat").trim_end_matches(".exe");
    ran.code(0).says(&[
        &format!("{program} --home demo/home review 1"),
        &format!("{program} arrive FOLDER"),
    ]);
}

#[test]
fn the_table_and_the_file_say_the_same_second() {
    let case = HomeCase::after_demo();
    let adi = case.read("contacts.adi");
    let times: Vec<String> = adi
        .split("<TIME_ON:6>")
        .skip(1)
        .map(|rest| format!("{}:{}:{}", &rest[..2], &rest[2..4], &rest[4..6]))
        .collect();
    assert_eq!(times.len(), 2);
    let times: Vec<&str> = times.iter().map(String::as_str).collect();
    case.run(&["log"]).code(0).says(&times);
}

#[test]
fn other_things_are_left_alone() {
    let case = HomeCase::empty();
    case.write("full/letter", "dear friend");
    case.run(&["demo", "--into", "full"])
        .code(1)
        .says(&["full contains other files", "--into DIR"]);
    case.run(&["demo", "--into", "full/letter"])
        .code(1)
        .says(&["is not a folder"]);
    assert_eq!(names(&case.at("full")), ["letter"]);
}
