//! Filters: which entries are listed and exported, and the record of exports.

use crate::case::HomeCase;

#[test]
fn by_station_band_own_call_sign_and_number() {
    let case = HomeCase::after_demo();
    for (words, expected) in [
        (&["--call", "qse"][..], 1),
        (&["--band", "2m"], 1),
        (&["--band", "20"], 1),
        (&["--band", "20m", "--call", "N0"], 0),
        (&["--station", "W7QTM"], 2),
        (&["--station", "W7QTM/M"], 0),
        (&["--from", "2026-05-15"], 0),
        (&["--last", "1"], 1),
    ] {
        let log = case
            .run(&[&["log", "--json"], words].concat())
            .code(0)
            .json();
        assert_eq!(log.as_array().unwrap().len(), expected, "{words:?}");
        if words[0] == "--last" {
            continue;
        }
        let arguments = ["export", "--format", "csv", "--json", "--out", "out.csv"];
        let told = case.run(&[&arguments, words].concat()).code(0).json();
        assert_eq!(told["entries"].as_array().unwrap().len(), expected);
        assert_eq!(told["file"].is_null(), expected == 0);
        if expected > 0 {
            std::fs::remove_file(case.at("out.csv")).unwrap();
        }
    }
    case.run(&["log", "--call", "ZZ"])
        .code(0)
        .says(&["No entry matches"]);
    case.run(&["log", "--last", "1"])
        .code(0)
        .says(&["the last 1 entry of 2, 1 of them confirmed; --last 2 shows all"]);
}

#[test]
fn what_went_out_and_when_is_listed() {
    let case = HomeCase::after_demo();
    let list = case.run(&["export", "--list", "--json"]).code(0).json();
    assert_eq!(
        (&list[0]["format"], &list[0]["contacts"]),
        (&"adif".into(), &2.into())
    );
    assert!(list[0]["path"].as_str().unwrap().ends_with("contacts.adi"));
    case.run(&["export", "--list"])
        .code(0)
        .says(&["adif 2", "contacts.adi"]);
    HomeCase::empty()
        .run(&["export", "--list"])
        .code(0)
        .says(&["Nothing was exported yet"]);
    case.run(&["export"]).code(2).says(&["--format"]);
}

#[test]
fn drafts_go_out_only_on_request_and_stay_new() {
    let case = HomeCase::drafted();
    case.run(&["confirm", "1", "--call", "KB0QSE"]).code(0);
    // The other one is what the recogniser heard; nobody has confirmed it.
    let told = case
        .run(&[
            "export", "--format", "adif", "--drafts", "--json", "--out", "a.adi",
        ])
        .json();
    assert_eq!(told["entries"], serde_json::json!([1, 2]));
    case.run(&["export", "--format", "adif"])
        .code(0)
        .says(&["Nothing to export"]);
    case.run(&["confirm", "2", "--call", "N0QRD"]).code(0);
    case.run(&["export", "--format", "adif", "--out", "b.adi"])
        .code(0)
        .says(&["1 contact"]);
}

#[test]
fn all_that_a_person_hears_goes_into_the_files() {
    let case = HomeCase::drafted();
    case.run(&[
        "confirm",
        "1",
        "--call",
        "KB0QSE",
        "--qth",
        "Laramie",
        "--their-locator",
        "DN71",
        "--sig",
        "QRT",
        "--sig-info",
        "Q-1",
        "--my-sig",
        "QRU",
        "--my-sig-info",
        "Q-2",
        "--receive-mhz",
        "14.3",
    ])
    .code(0);
    case.run(&["export", "--format", "adif", "--out", "a.adi"])
        .code(0);
    let text = case.read("a.adi");
    for part in [
        "<FREQ:7>14.2875 <FREQ_RX:6>14.300 ",
        "<QTH:7>Laramie <GRIDSQUARE:4>DN71 ",
        "<SIG:3>QRT <SIG_INFO:3>Q-1 ",
        "<MY_SIG:3>QRU <MY_SIG_INFO:3>Q-2 ",
    ] {
        assert!(text.contains(part), "no {part} in {text}");
    }
    case.run(&["confirm", "1", "--call", "KB0QSE", "--receive-mhz", "x"])
        .code(2)
        .says(&["'x' is not a frequency in megahertz"]);
    case.run(&["confirm", "1", "--call", "KB0QSE", "--their-locator", "99"])
        .code(2)
        .says(&["'99' is not a locator"]);
}

#[test]
fn a_draft_that_another_log_has_says_so() {
    let case = HomeCase::drafted();
    case.write(
        "a.adi",
        "<CALL:6>KB0QSE<QSO_DATE:8>20260514<TIME_ON:4>1504<BAND:3>20m<MODE:3>SSB<EOR>",
    );
    case.run(&["import", "a.adi"]).code(0);
    // Seconds and a frequency that nobody knows are not made up.
    case.run(&["log"])
        .code(0)
        .says(&["3+ 15:04 - 20m SSB KB0QSE"]);
    case.run(&["draft", "1"])
        .code(3)
        .says(&["perhaps the same contact as entry 3: KB0QSE 2026-05-14 15:04 20m SSB imported"]);
    let json = case.run(&["draft", "1", "--json", "-"]).done().json();
    assert_eq!(json["drafts"][0]["duplicates"][0]["second"]["number"], 3);
    assert_eq!(json["drafts"][1]["duplicates"].as_array().unwrap().len(), 0);
    case.run(&["log", "--duplicates"])
        .code(3)
        .says(&["1 pair of entries", "trip-000001"]);
    case.run(&["confirm", "1", "--call", "KB0QSE"])
        .code(3)
        .says(&[
            "worked before: 1 other contact",
            "perhaps the same contact as entry 3",
        ]);
    // How near is near is settable.
    case.write("home/station.toml", "duplicates_within_minutes = 0\n");
    case.run(&["log", "--duplicates"])
        .code(0)
        .says(&["No two entries"]);
    case.run(&["log", "--duplicates", "--within", "1"])
        .code(3)
        .says(&["1 pair"]);
}
