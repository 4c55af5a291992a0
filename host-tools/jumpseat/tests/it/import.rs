//! Import: what is read, what is reported, what is unchanged.

use crate::case::HomeCase;

/// A log of another program: a header that does not end, a contact that the demo
/// has too, one with a field of its user, one that is broken and one that is cut.
const LOG: &str = "log of a friend <USERDEF1:3:N>EPC\n\
    <call:6>KB0QSE <qso_date:8>20260514 <time_on:6>150428 <band:3>20M <mode:3>USB <name:4>Rut\u{e9} <eor>\n\
    <CALL:5>K1QRM <QSO_DATE:8>20250102 <TIME_ON:4>2359 <TIME_OFF:4>0001 <FREQ:6>7.1234 <EPC:5>32123 <EOR>\n\
    <NAME:4>Ruth <EOR>\n\
    <CALL:5>N5QSL <QSO_DATE:8>20250103 <TIME_ON:4>0000 <FREQ:3>abc <EOR>\n\
    <CALL:5>W7QTM <QSO_DATE:8>2025";

#[test]
fn what_cannot_be_read_is_told_and_the_rest_is_imported() {
    let case = HomeCase::empty();
    case.write("friend.adi", LOG);
    case.run(&["import", "friend.adi"]).code(3).says(&[
        "friend.adi: 3 contacts, 3 new, 0 already in the logbook",
        "line 4: a record without a call sign (CALL); it was left out",
        "line 5: FREQ: 'abc' is not a number of megahertz; it was left empty",
        "line 6: a record without an end (<EOR>)",
        "undo 1` undoes this import",
    ]);
    case.run(&["log"])
        .code(0)
        .says(&["KB0QSE", "K1QRM", "3 entries, 3 confirmed"]);
    let told = case.run(&["import", "friend.adi", "--json"]).code(3).json();
    assert_eq!(
        (&told[0]["known"], &told[0]["read"]),
        (&3.into(), &3.into())
    );
    assert_eq!(told[0]["added"].as_array().unwrap().len(), 0);
    assert_eq!(told[0]["complaints"][0]["line"], 4);
    assert!(told[0]["action"].is_null());
    case.run(&["undo"])
        .code(0)
        .says(&["Undone: imported 3 contacts from", "(3 entries)"]);
    case.run(&["log"]).code(0).says(&["The logbook is empty"]);
}

#[test]
fn our_own_files_come_back_without_a_change() {
    let case = HomeCase::after_demo();
    for format in ["adif", "adx", "csv"] {
        let file = format!("out.{format}");
        let file = if format == "adif" { "out.adi" } else { &file };
        case.run(&["export", "--format", format, "--all", "--out", file])
            .code(0);
        case.run(&["import", file])
            .code(0)
            .says(&["2 contacts, 0 new, 2 already in the logbook"]);
        let other = HomeCase::empty();
        other.write(file, case.read(file));
        other.run(&["import", file]).code(0).says(&["2 new"]);
        other
            .run(&["export", "--format", format, "--all", "--out", "again"])
            .code(0);
        let without_stamp = |text: String| {
            let lines = text
                .lines()
                .filter(|line| !line.contains("CREATED_TIMESTAMP"));
            lines.map(str::to_owned).collect::<Vec<_>>()
        };
        assert_eq!(
            without_stamp(other.read("again")),
            without_stamp(case.read(file))
        );
    }
}

#[test]
fn a_field_of_another_users_log_goes_out_again() {
    let case = HomeCase::empty();
    case.write("friend.adi", LOG);
    case.run(&["import", "friend.adi"]).code(3);
    // It is in another log already, so it does not go out as new.
    case.run(&["export", "--format", "adif"])
        .code(0)
        .says(&["Nothing to export"]);
    case.run(&[
        "export", "--format", "adif", "--call", "qrm", "--out", "a.adi",
    ])
    .code(0)
    .says(&["a.adi: 1 contact"]);
    let text = case.read("a.adi");
    for part in [
        "<USERDEF1:3:N>EPC ",
        "<EPC:5:N>32123 ",
        "<TIME_ON:4>2359 ",
        "<FREQ:6>7.1234 ",
    ] {
        assert!(text.contains(part), "{text}");
    }
}

#[test]
fn a_contact_told_otherwise_is_shown_with_both_sides() {
    let case = HomeCase::after_demo();
    case.run(&["confirm", "1", "--call", "KB0QSE", "--name", "Ruth"])
        .code(0);
    case.write("friend.adi", LOG);
    let told = case.run(&["import", "friend.adi"]);
    told.code(3).says(&[
        "2 new, 0 already in the logbook",
        "1 contact is in the logbook with other details and were not added",
        "entry 1 KB0QSE 2026-05-14 15:04:28 14.2875 USB",
        "line 2 KB0QSE 2026-05-14 15:04:28 20m USB",
        "NAME: Ruth in the logbook, Rut\u{e9} in the file",
    ]);
    case.run(&["log", "--duplicates"])
        .code(0)
        .says(&["No two entries look like the same contact."]);
    let json = case
        .run(&["import", "friend.adi", "--add-duplicates", "--json"])
        .code(3)
        .json();
    assert_eq!(json[0]["added"].as_array().unwrap().len(), 1);
    assert_eq!(json[0]["duplicates"][0]["first"]["number"], 1);
    let pairs = case.run(&["log", "--duplicates", "--json"]).code(3).json();
    assert_eq!(pairs.as_array().unwrap().len(), 1);
    assert_eq!(pairs[0]["why"], "station");
    case.run(&["log", "--duplicates"]).code(3).says(&[
        "1 pair of entries may be the same contact",
        "same station, band and mode",
    ]);
    // What was asked for is not called left out.
    case.run(&["undo"]).code(0);
    case.run(&["import", "friend.adi", "--add-duplicates"])
        .code(3)
        .says(&["1 contact is in the logbook with other details and were added"]);
}

#[test]
fn what_is_no_log_is_refused_and_the_files_before_it_are_kept() {
    let case = HomeCase::empty();
    case.write("friend.adi", LOG);
    case.write("letter.txt", "a letter to the editor");
    case.write("table.csv", "a,b\n1,2\n");
    for (file, says) in [
        ("letter.txt", "is not a log"),
        ("table.csv", "is not a log"),
        ("missing.adi", "cannot read missing.adi"),
    ] {
        case.run(&["import", file]).code(1).says(&[says]);
    }
    case.run(&["import"]).code(2).says(&["FILE"]);
    let both = case.run(&["import", "friend.adi", "letter.txt"]);
    both.code(1).says(&["3 new", "letter.txt is not a log"]);
    case.run(&["log"]).code(0).says(&["3 entries"]);
    case.write("empty.adi", "nothing yet <EOH>\n");
    case.run(&["import", "empty.adi"])
        .code(0)
        .says(&["0 contacts, 0 new"]);
}

#[test]
fn a_remark_that_tells_a_contact_makes_none() {
    let case = HomeCase::empty();
    let inner = "hi<EOR>\n<CALL:6>KB0QSE<QSO_DATE:8>20260514<TIME_ON:4>1504 <EOR>";
    case.write(
        "friend.adi",
        format!(
            "<CALL:5>K1QRM<QSO_DATE:8>20260513<TIME_ON:4>1504<EOR>\n\
             <CALL:5>W7QTM<QSO_DATE:8>20260514<TIME_ON:4>1504<COMMENT:{}>{inner} <EOR>\n",
            inner.len()
        ),
    );
    case.run(&["import", "friend.adi"]).code(3).says(&[
        "friend.adi: 1 contact, 1 new",
        "line 2: COMMENT: its length of",
        "runs past the end of a record (<EOR>)",
        "the record was put aside, up to line 3",
    ]);
    let log = case.run(&["log", "--json"]).code(0).json();
    let calls: Vec<&str> = log
        .as_array()
        .unwrap()
        .iter()
        .map(|entry| entry["contact"]["call"].as_str().unwrap())
        .collect();
    assert_eq!(calls, ["K1QRM"]);
}

#[test]
fn contacts_that_lie_close_are_counted_and_not_all_told() {
    let case = HomeCase::empty();
    let records: Vec<String> = (0..300)
        .map(|n| {
            let (hour, minute) = (n / 60, n % 60);
            format!("<CALL:5>K1QRM<QSO_DATE:8>20250102<TIME_ON:4>{hour:02}{minute:02}<EOR>\n")
        })
        .collect();
    case.write("many.adi", records.concat());
    let told = case.run(&["import", "many.adi", "--json"]).code(3).json();
    // Each with the thirty before it, but for the first ones.
    assert_eq!(told[0]["duplicates"].as_array().unwrap().len(), 1000);
    assert_eq!(told[0]["further_duplicates"], 300 * 30 - 465 - 1000);
    case.run(&["undo"]).code(0);
    case.run(&["import", "many.adi"]).code(3).says(&[
        "8535 pairs of entries may be the same contact",
        "and 8515 further pairs",
    ]);
}

#[cfg(unix)]
#[test]
fn what_never_ends_is_no_log() {
    let case = HomeCase::empty();
    case.write("a.adi", LOG);
    let at = |name: &str| case.at(name);
    let made = std::process::Command::new("mkfifo")
        .arg(at("pipe"))
        .status();
    assert!(made.unwrap().success());
    let large = std::fs::File::create(at("large.adi")).unwrap();
    large.set_len((256 << 20) + 1).unwrap();
    for (file, says) in [
        ("/dev/zero", "it is not an ordinary file"),
        ("pipe", "it is not an ordinary file"),
        (".", "it is not an ordinary file"),
        ("large.adi", "has more than 256 MB"),
    ] {
        case.run(&["import", file]).code(1).says(&[file, says]);
    }
    // A person's own link is followed.
    std::os::unix::fs::symlink("a.adi", at("link.adi")).unwrap();
    case.run(&["import", "link.adi"]).code(3).says(&["3 new"]);
}

#[test]
fn commands_at_once_neither_fail_nor_do_anything_twice() {
    let case = HomeCase::after_demo();
    let records: Vec<String> = (0..300)
        .map(|n| {
            let (hour, minute) = (n / 60, n % 60);
            format!(
                "<CALL:5>K{}QRM<QSO_DATE:8>20250102<TIME_ON:4>{hour:02}{minute:02}<EOR>",
                n % 10
            )
        })
        .collect();
    case.write("many.adi", records.join("\n"));
    std::thread::scope(|scope| {
        for number in 0..4 {
            let case = &case;
            scope.spawn(move || {
                let within = ["import", "many.adi", "--within", "0"];
                case.run(&within).code(0).says(&["300 contacts"]);
                let name = format!("Ruth {number}");
                case.run(&["confirm", "1", "--call", "KB0QSE", "--name", &name])
                    .code(0);
                let log = case.run(&["log", "--json"]).code(0).json();
                assert_eq!(log.as_array().unwrap().len(), 302);
            });
        }
    });
    let actions = case.run(&["undo", "--list", "--json"]).code(0).json();
    let imports = actions.as_array().unwrap().iter();
    assert_eq!(
        imports.filter(|action| action["who"] == "import").count(),
        1
    );
}
