use proptest::prelude::*;

use super::*;
use jumpseat_values::{CallSignDoubt, Doubt};

/// What a text falls apart into: before, prefix, digits, suffix, after; and its doubts.
#[track_caller]
fn check(text: &str, expected: (&str, &str, &str, &str, &[CallSignAddition]), doubts: &[&str]) {
    let parsed = parse(text).unwrap();
    let call = parsed.value.as_ref().unwrap();
    let found = (
        call.before().unwrap_or(""),
        call.prefix(),
        call.digits(),
        call.suffix(),
        call.after(),
    );
    assert_eq!(found, expected, "{text}");
    let said: Vec<String> = parsed.doubts.iter().map(ToString::to_string).collect();
    assert_eq!(said, doubts, "{text}");
}

#[test]
fn usual_shapes() {
    check("W7QTM", ("", "W", "7", "QTM", &[]), &[]);
    check("KB0QSE", ("", "KB", "0", "QSE", &[]), &[]);
    check(" kbØqse ", ("", "KB", "0", "QSE", &[]), &[]);
    check("2E0QRA", ("", "2E", "0", "QRA", &[]), &[]);
    check("9A1QR", ("", "9A", "1", "QR", &[]), &[]);
    check("A61QR", ("", "A6", "1", "QR", &[]), &[]);
    check("4U1QRA", ("", "4U", "1", "QRA", &[]), &[]);
    check("3DA0QR", ("", "3DA", "0", "QR", &[]), &[]);
    check("M0QSX", ("", "M", "0", "QSX", &[]), &[]);
    check("EA8QUZ", ("", "EA", "8", "QUZ", &[]), &[]);
}

#[test]
fn unusual_shapes_are_taken_with_a_doubt() {
    let special = "more than one digit: a special event station, or a slip";
    check("GB100QRA", ("", "GB", "100", "QRA", &[]), &[special]);
    check("R2025QR", ("", "R", "2025", "QR", &[]), &[special]);
    check("S525QR", ("", "S5", "25", "QR", &[]), &[special]);
    check(
        "GB999",
        ("", "GB", "999", "", &[]),
        &[special, "no letters after the digits"],
    );
    check(
        "DL0QRAVEL",
        ("", "DL", "0", "QRAVEL", &[]),
        &["a long suffix: a special event station, or a slip"],
    );
    check(
        "W7Q4R",
        ("", "W", "7", "Q4R", &[]),
        &["a digit within the suffix"],
    );
    check(
        "C6AQR",
        ("", "C6", "", "AQR", &[]),
        &["no digit between prefix and suffix"],
    );
    check(
        "KBC7QRA",
        ("", "KBC", "7", "QRA", &[]),
        &["the prefix has an unusual form"],
    );
    check(
        "X57QRA",
        ("", "X5", "7", "QRA", &[]),
        &["the prefix X5 is allocated to nobody"],
    );
    check(
        "3D2QR",
        ("", "3D", "2", "QR", &[]),
        &["the prefix 3D may be Eswatini (Kingdom of) or Fiji (Republic of)"],
    );
}

#[test]
fn beside_the_stroke() {
    use CallSignAddition::*;
    check("W7QTM/M", ("", "W", "7", "QTM", &[Mobile]), &[]);
    check("W7QTM/P", ("", "W", "7", "QTM", &[Portable]), &[]);
    check("W7QTM/MM", ("", "W", "7", "QTM", &[MaritimeMobile]), &[]);
    check(
        "W7QTM/AM",
        ("", "W", "7", "QTM", &[AeronauticalMobile]),
        &[],
    );
    check("W7QTM/4", ("", "W", "7", "QTM", &[CallArea('4')]), &[]);
    check("M0QSX/A", ("", "M", "0", "QSX", &[Alternative]), &[]);
    check(
        "W7QTM/4/QRP",
        ("", "W", "7", "QTM", &[CallArea('4'), LowPower]),
        &[],
    );
    check("DL/W7QTM", ("DL", "W", "7", "QTM", &[]), &[]);
    check("F/W7QTM/P", ("F", "W", "7", "QTM", &[Portable]), &[]);
    check("VP2E/W7QTM", ("VP2E", "W", "7", "QTM", &[]), &[]);
    check(
        "W7QTM/VE3",
        ("", "W", "7", "QTM", &[Country("VE3".into())]),
        &[],
    );
    check(
        "W7QTM/KH6",
        ("", "W", "7", "QTM", &[Country("KH6".into())]),
        &[],
    );
}

#[test]
fn doubtful_beside_the_stroke() {
    use CallSignAddition::Other;
    check(
        "W7QTM/R",
        ("", "W", "7", "QTM", &[Other("R".into())]),
        &["/R may mean a rover or Russia"],
    );
    check(
        "W7QTM/XYZZY",
        ("", "W", "7", "QTM", &[Other("XYZZY".into())]),
        &["/XYZZY is no addition that we know"],
    );
    check(
        "X5/W7QTM",
        ("X5", "W", "7", "QTM", &[]),
        &["the prefix X5 is allocated to nobody"],
    );
    check(
        "W7QTM/KB0QSE",
        ("W7QTM", "KB", "0", "QSE", &[]),
        &["W7QTM beside the stroke is a call sign too"],
    );
}

#[test]
fn what_cannot_be_a_call_sign_is_refused() {
    assert_eq!(parse("HELLO"), Err(CallSignError::NotACall));
    assert_eq!(parse("W7 QTM"), Err(CallSignError::Character(' ')));
}

#[track_caller]
fn check_allocation(prefix: &str, expected: &str) {
    let found = match allocation(prefix) {
        PrefixAllocation::None => "nobody".to_owned(),
        PrefixAllocation::One(name) => name.to_owned(),
        PrefixAllocation::Several(names) => names.join(" or "),
    };
    assert_eq!(found, expected, "{prefix}");
    assert_eq!(is_allocated(prefix.as_bytes()), expected != "nobody");
}

#[test]
fn allocations() {
    check_allocation("W7QTM", "United States of America");
    check_allocation("W", "United States of America");
    check_allocation("AA7QR", "United States of America");
    check_allocation("AM", "Spain");
    check_allocation("DL", "Germany (Federal Republic of)");
    check_allocation("3DA", "Eswatini (Kingdom of)");
    check_allocation("3DN", "Fiji (Republic of)");
    check_allocation("SSA", "Egypt (Arab Republic of)");
    check_allocation("SSN", "Sudan (Republic of the)");
    check_allocation("X5", "nobody");
    check_allocation("Q", "nobody");
    check_allocation("", "nobody");
}

/// The nine letters that tell the nationality alone belong to one administration each.
#[test]
fn single_letters_are_whole() {
    for letter in "BFGIKMNRW".chars() {
        let names: std::collections::BTreeSet<_> = series()
            .iter()
            .filter(|series| series.first.starts_with(letter))
            .map(|series| series.administration)
            .collect();
        assert_eq!(names.len(), 1, "{letter}: {names:?}");
        assert_eq!(
            allocation(&letter.to_string()),
            PrefixAllocation::One(names.first().copied().unwrap())
        );
    }
}

#[test]
fn where_the_station_is() {
    let place = |text: &str| parse(text).unwrap().value.unwrap().place_allocation();
    assert_eq!(
        place("W7QTM"),
        PrefixAllocation::One("United States of America")
    );
    assert_eq!(
        place("DL/W7QTM/P"),
        PrefixAllocation::One("Germany (Federal Republic of)")
    );
    assert_eq!(place("W7QTM/VE3"), PrefixAllocation::One("Canada"));
    assert_eq!(place("W7QTM/MM"), PrefixAllocation::None);
}

#[test]
fn weights_put_the_usual_first() {
    let log = |call: &str| weigh(call.as_bytes()).unwrap().log;
    let falling = ["W7QTM", "W7QR", "W7Q", "W7QTMA", "W75QTM", "X57QTM"];
    assert!(falling.windows(2).all(|pair| log(pair[0]) > log(pair[1])));
    assert_eq!(weigh(b"W7"), None);
    assert_eq!(weigh(b"w7qtm"), None);
    assert!(!weigh(b"X57QRA").unwrap().allocated);
}

#[test]
fn beginnings_that_lead_somewhere() {
    for (start, expected) in [
        ("", true),
        ("W", true),
        ("3", true),
        ("3D", true),
        ("X", true),
        ("X5", false),
        ("Q", false),
    ] {
        assert_eq!(can_begin(start.as_bytes()), expected, "{start}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn no_text_panics_and_what_is_written_reads_back(text in ".{0,40}") {
        if let Ok(parsed) = parse(&text) {
            let written = parsed.value.as_ref().unwrap().to_string();
            prop_assert_eq!(parse(&written), Ok(parsed));
        }
    }

    #[test]
    fn call_like_texts_read_back(text in "[A-Z0-9/]{1,20}") {
        if let Ok(parsed) = parse(&text) {
            let call = parsed.value.as_ref().unwrap();
            prop_assert_eq!(call.to_string(), text);
            prop_assert_eq!([call.prefix(), call.digits(), call.suffix()].concat(), call.home());
            prop_assert!(weigh(call.home().as_bytes()).is_some());
        }
    }

    #[test]
    fn regular_calls_have_no_doubt_about_their_shape(
        prefix in "[BFGIKMNRW]|[ADEHJLOPSTUVYZ][A-Z]|[2-9][A-Z]",
        digit in "[0-9]",
        suffix in "[A-Z]{1,4}",
    ) {
        let parsed = parse(&format!("{prefix}{digit}{suffix}")).unwrap();
        let call = parsed.value.as_ref().unwrap();
        prop_assert_eq!((call.prefix(), call.digits()), (prefix.as_str(), digit.as_str()));
        let about_prefix = |doubt: &Doubt| {
            use CallSignDoubt::{NotAllocated, SharedPrefix};
            matches!(doubt, Doubt::CallSign(NotAllocated { .. } | SharedPrefix { .. }))
        };
        prop_assert!(parsed.doubts.iter().all(about_prefix), "{:?}", parsed.doubts);
    }
}
