//! Export in every format, and which contacts go into it.

use std::fs;

use crate::case::{HomeCase, TRIP, names};

/// Exports; what is said, and how often a word stands in the file.
#[track_caller]
fn check(
    case: &HomeCase,
    format: &str,
    words: &[&str],
    code: i32,
    says: &[&str],
    each: (&str, usize),
) {
    let file = format!(
        "out{}.{format}",
        fs::read_dir(case.at(".")).unwrap().count()
    );
    let arguments = ["export", "--format", format, "--out", &file];
    case.run(&[&arguments, words].concat())
        .code(code)
        .says(says);
    let (word, times) = each;
    if times == 0 {
        assert!(!case.at(&file).exists());
        return;
    }
    let text = case.read(&file);
    assert_eq!(text.matches(word).count(), times, "{text}");
}

/// One word that stands once for every contact, by format.
const FORMATS: [(&str, &str); 4] = [
    ("adif", "<EOR>"),
    ("adx", "</RECORD>"),
    ("csv", ",W7QTM,"),
    ("gpx", "</wpt>"),
];

#[test]
fn each_format_has_its_own_record_of_what_went_out() {
    let case = HomeCase::drafted();
    case.run(&["confirm", "1", "--call", "KB0QSE"]).code(0);
    for (format, word) in FORMATS {
        check(&case, format, &[], 0, &["1 contact"], (word, 1));
        let before = format!("were exported as {format} before");
        check(&case, format, &[], 0, &[&before, "--all"], (word, 0));
    }
    case.run(&["confirm", "2", "--call", "N0QRD"]).code(0);
    for (format, word) in FORMATS {
        check(&case, format, &[], 0, &["1 contact"], (word, 1));
        check(&case, format, &["--all"], 0, &["2 contacts"], (word, 2));
        check(
            &case,
            format,
            &["--trip", TRIP],
            0,
            &["2 contacts"],
            (word, 2),
        );
    }
}

#[test]
fn a_range_of_days() {
    let case = HomeCase::after_demo();
    for (words, times) in [
        (&["--from", "2026-05-14"][..], 2),
        (&["--from", "2026-05-14", "--to", "2026-05-14"], 2),
        (&["--to", "2026-05-13"], 0),
        (&["--from", "2026-05-15"], 0),
        (&["--trip", "1", "--from", "2026-05-15"], 0),
    ] {
        check(&case, "adif", words, 0, &[], ("<EOR>", times));
    }
    for (words, said) in [
        (&["--from", "14.5.2026"][..], "example: 2026-05-14"),
        (
            &["--from", "2026-05-14", "--to", "2026-05-13"],
            "is before --from",
        ),
    ] {
        check(&case, "adif", words, 2, &[said], ("", 0));
    }
}

#[test]
fn the_own_area_is_in_the_files() {
    let case = HomeCase::after_demo();
    check(
        &case,
        "adif",
        &["--all"],
        0,
        &[],
        ("<MY_CNTY:13>WY,Sweetwater ", 2),
    );
    check(
        &case,
        "adx",
        &["--all"],
        0,
        &[],
        ("<MY_STATE>WY</MY_STATE>", 2),
    );
    check(
        &case,
        "csv",
        &["--all"],
        0,
        &[],
        (",WY,\"WY,Sweetwater\",", 2),
    );
    check(
        &case,
        "gpx",
        &["--all"],
        0,
        &[],
        ("Sweetwater County, Wyoming", 2),
    );
}

#[test]
fn the_way_is_missing_when_the_trip_is() {
    let case = HomeCase::after_demo();
    check(&case, "gpx", &["--all"], 0, &[], ("<trkseg>", 1));
    fs::rename(case.pulled(), case.at("elsewhere")).unwrap();
    let says = ["doubt: the track of trip-000001-3fa2c1 is missing"];
    check(&case, "gpx", &["--all"], 3, &says, ("</wpt>", 2));
}

#[test]
fn a_folder_of_clips_with_a_page() {
    let case = HomeCase::after_demo();
    let name = "Ruth <b>";
    case.run(&["confirm", "1", "--call", "KB0QSE/M", "--name", name])
        .code(0);
    case.run(&["export", "--format", "clips", "--out", "clips"])
        .code(0)
        .says(&["clips: 2 contacts"]);
    let first = "20260514-150428-KB0QSE-M-20m.wav";
    let second = "20260514-150612-N0QRD-2m.wav";
    assert_eq!(names(&case.at("clips")), [first, second, "index.html"]);
    let page = case.read("clips/index.html");
    assert!(
        page.contains(first) && page.contains("Ruth &lt;b&gt;"),
        "{page}"
    );
    assert!(!page.contains("<b>"));
    let wave = fs::read(case.at("clips").join(first)).unwrap();
    assert_eq!(&wave[12..16], b"bext");
    let wave = hound::WavReader::new(wave.as_slice()).unwrap();
    // 61.25 s of contact and two seconds on either side.
    let seconds = f64::from(wave.duration()) / 16_000.0;
    assert!((seconds - 65.25).abs() < 0.5, "{seconds} s");
    let loudest = wave
        .into_samples::<i16>()
        .map(|sample| sample.unwrap().unsigned_abs());
    assert!(loudest.max().unwrap() > 8_000);
    // Nothing half written is left beside it, and nothing goes out twice.
    case.run(&["export", "--format", "clips", "--out", "again"])
        .code(0)
        .says(&["were exported as clips before"]);
    let beside = names(&case.at("."));
    assert!(
        !beside.iter().any(|name| name.starts_with('.')),
        "{beside:?}"
    );
    case.run(&["export", "--format", "clips", "--all", "--out", "clips"])
        .code(1)
        .says(&["clips is there already"]);
}

#[test]
fn a_contact_without_its_sound_has_no_clip() {
    let case = HomeCase::after_demo();
    fs::rename(case.pulled(), case.at("elsewhere")).unwrap();
    case.run(&["export", "--format", "clips", "--out", "clips"])
        .code(3)
        .says(&["entry 1: no sound", "entry 2: no sound"]);
    assert!(!case.at("clips").exists());
}

#[test]
fn a_trip_without_sound_is_checked_in_the_same_home() {
    let case = HomeCase::drafted();
    for name in names(&case.pulled().join("audio")) {
        fs::write(case.pulled().join("audio").join(name), "no sound").unwrap();
    }
    case.run(&[
        "export", "--format", "segments", "--trip", "1", "--out", "s",
    ])
    .code(1)
    .says(&[&format!("see `jumpseat --home home check {TRIP}`")]);
}
