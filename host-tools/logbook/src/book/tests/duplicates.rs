//! Duplicates: the same station within a time, or another entry at the same time.

use chrono::TimeDelta;

use super::*;

struct DuplicateCase<'a>(&'a str, &'a str, Option<&'a str>, Option<&'a str>);

fn contact_of(DuplicateCase(call, on, band, mode): &DuplicateCase<'_>) -> Contact {
    Contact {
        call: (*call).into(),
        on: Some(format!("2026-05-14T{on}Z").parse().unwrap()),
        band: band.map(Into::into),
        mode: mode.map(Into::into),
        ..Contact::default()
    }
}

#[track_caller]
fn check(first: DuplicateCase<'_>, second: DuplicateCase<'_>, minutes: i64, expected: bool) {
    let (_folder, mut book) = book();
    let contacts = [contact_of(&first), contact_of(&second)];
    book.import("a.adi", &contacts, true, || ()).unwrap();
    let within = TimeDelta::minutes(minutes);
    let pairs = book.duplicates(within).unwrap();
    assert_eq!(pairs.len(), usize::from(expected), "{pairs:?}");
    for (one, other) in [(1, 2), (2, 1)] {
        let entry = book.entry(one).unwrap();
        let found = book.duplicates_of(&entry, within).unwrap();
        let pair = DuplicateEntries {
            first: one,
            second: other,
            why: DuplicateReason::Station,
        };
        assert_eq!(found, if expected { vec![pair] } else { vec![] });
    }
}

#[test]
fn the_same_station_on_the_same_band_within_the_time() {
    const USUAL: (Option<&str>, Option<&str>) = (Some("20m"), Some("SSB"));
    let at = |call, on| DuplicateCase(call, on, USUAL.0, USUAL.1);
    check(at("KB0QSE", "15:04:00"), at("KB0QSE", "15:34:00"), 30, true);
    check(
        at("KB0QSE", "15:04:00"),
        at("KB0QSE", "15:34:01"),
        30,
        false,
    );
    check(
        at("KB0QSE", "15:34:00"),
        at("KB0QSE/M", "15:04:00"),
        30,
        true,
    );
    check(
        at("KB0QSE", "15:04:00"),
        at("KB0QSF", "15:04:01"),
        30,
        false,
    );
    check(at("KB0QSE", "15:04:00"), at("KB0QSE", "15:09:00"), 4, false);
    check(
        at("KB0QSE", "15:04:00"),
        DuplicateCase("KB0QSE", "15:05:00", Some("40m"), USUAL.1),
        30,
        false,
    );
    check(
        at("KB0QSE", "15:04:00"),
        DuplicateCase("KB0QSE", "15:05:00", USUAL.0, Some("FM")),
        30,
        false,
    );
    check(
        at("KB0QSE", "15:04:00"),
        DuplicateCase("KB0QSE", "15:05:00", None, None),
        30,
        true,
    );
}

/// A draft of a trip, without a call sign.
fn drafted(on: &str, off: &str, band: &str) -> Draft {
    let mut draft = draft(0.0, 60.0);
    let time = |text: &str| Some(format!("2026-05-14T{text}Z").parse().unwrap());
    draft.on.value = time(on);
    draft.off.value = time(off);
    draft.band.value = Some(band.into());
    draft
}

#[test]
fn an_entry_from_elsewhere_at_the_same_time() {
    let within = TimeDelta::minutes(30);
    for (on, off, band, expected) in [
        ("15:04:10", "15:05:00", "20m", true),
        ("15:05:20", "15:06:00", "20m", true),
        ("15:06:20", "15:07:00", "20m", false),
        ("15:02:00", "15:02:50", "20m", false),
        ("15:04:10", "15:05:00", "40m", false),
    ] {
        let (_folder, mut book) = book();
        book.store_drafts("t", &[drafted(on, off, band)]).unwrap();
        // The same contact in another trip, and in an imported log.
        book.store_drafts("u", &[drafted("15:04:20", "15:04:50", "20m")])
            .unwrap();
        let logged = contact_of(&DuplicateCase("KB0QSE", "15:04:30", Some("20m"), None));
        book.import("a.adi", &[logged], false, || ()).unwrap();
        let entry = book.entry(1).unwrap();
        let pairs = book.duplicates_of(&entry, within).unwrap();
        let others: Vec<i64> = pairs.iter().map(|pair| pair.second).collect();
        assert_eq!(others, if expected { vec![2, 3] } else { vec![] }, "{on}");
        assert!(pairs.iter().all(|pair| pair.why == DuplicateReason::Time));
    }
    // Within one trip two contacts are two.
    let (_folder, mut book) = book();
    let both = [drafted("15:04:10", "15:05:00", "20m"), {
        let mut next = drafted("15:05:00", "15:06:00", "20m");
        (next.on_s, next.off_s) = (60.0, 120.0);
        next
    }];
    book.store_drafts("t", &both).unwrap();
    assert_eq!(
        book.duplicates_of(&book.entry(1).unwrap(), within).unwrap(),
        []
    );
}
