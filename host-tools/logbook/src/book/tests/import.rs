//! Import: nothing twice, nothing lost without a word.

use super::*;

fn told(call: &str, on: &str) -> Contact {
    Contact {
        call: call.into(),
        on: Some(on.parse().unwrap()),
        band: Some("20m".into()),
        mode: Some("SSB".into()),
        ..Contact::default()
    }
}

fn import(book: &mut Logbook, contacts: &[Contact], again: bool) -> ImportSummary {
    book.import("a.adi", contacts, again, || ()).unwrap()
}

const ON: &str = "2026-05-14T15:04:21Z";

#[test]
fn importing_twice_changes_nothing() {
    let (_folder, mut book) = book();
    let contacts = [told("KB0QSE", ON), told("K1QRM", ON), told("KB0QSE", ON)];
    let first = import(&mut book, &contacts, false);
    assert_eq!(first.added, [(0, 1), (1, 2)]);
    assert_eq!((first.known, first.action), (1, Some(1)));
    let second = import(&mut book, &contacts, false);
    assert_eq!(
        (second.added.len(), second.known, second.action),
        (0, 3, None)
    );
    // Also after one of them was corrected here, and when all is wanted.
    book.confirm(1, &told("KB0QSF", ON)).unwrap();
    let third = import(&mut book, &contacts, true);
    assert_eq!((third.added.len(), third.known), (0, 3));
    assert_eq!(book.actions(9).unwrap().len(), 2);
}

#[test]
fn a_contact_that_is_here_is_not_added_and_what_differs_is_told() {
    let (_folder, mut book) = book();
    book.store_drafts("t", &[draft(0.0, 9.0)]).unwrap();
    let mut here = told("KB0QSE/M", "2026-05-14T15:04:20.700Z");
    here.name = Some("Ruth".into());
    book.confirm(1, &here).unwrap();
    // As our own export comes back, with less, and to the minute.
    let mut minute = told("KB0QSE/M", "2026-05-14T15:04:00Z");
    minute.whole_minutes = true;
    let known = import(&mut book, &[told("KB0QSE/M", ON), minute], false);
    assert_eq!(
        (known.known, known.retold.len(), known.action),
        (2, 0, None)
    );
    let mut other = told("KB0QSE", ON);
    other.name = Some("Rut".into());
    let retold = import(&mut book, std::slice::from_ref(&other), false);
    assert_eq!((retold.added.len(), retold.known), (0, 0));
    let fields: Vec<&str> = retold.retold[0]
        .differs
        .iter()
        .map(|differs| differs.field.as_str())
        .collect();
    assert_eq!((retold.retold[0].number, fields), (1, vec!["CALL", "NAME"]));
    let added = import(&mut book, std::slice::from_ref(&other), true);
    assert_eq!(added.added, [(0, 2)]);
    // Another band, another mode or another minute is another contact.
    for (band, mode, on) in [
        ("40m", "SSB", ON),
        ("20m", "FM", ON),
        ("20m", "SSB", "2026-05-14T15:05:30Z"),
    ] {
        let mut contact = told("KB0QSE", on);
        contact.band = Some(band.into());
        contact.mode = Some(mode.into());
        assert_eq!(import(&mut book, &[contact], false).added.len(), 1);
    }
}

#[test]
fn what_was_imported_does_not_go_out_as_new() {
    let (_folder, mut book) = book();
    import(&mut book, &[told("KB0QSE", ON)], false);
    assert_eq!(numbers(&book, &EntryFilter::New("adif")), NONE);
    assert_eq!(numbers(&book, &EntryFilter::Confirmed), [1]);
    assert!(book.entry(1).unwrap().imported);
}

#[test]
fn a_station_is_known_from_any_log() {
    let (_folder, mut book) = book();
    assert_eq!(book.worked_before("KB0QSE").unwrap(), None);
    let mut named = told("KB0QSE", ON);
    named.name = Some("Ruth".into());
    import(
        &mut book,
        &[named, told("VP2E/KB0QSE", "2026-06-01T00:00:00Z")],
        false,
    );
    let worked = book.worked_before("kb0qse/p").unwrap().unwrap();
    assert_eq!((worked.contacts, worked.name.as_deref()), (2, Some("Ruth")));
    assert!(worked.last.unwrap().starts_with("2026-06-01"));
    assert_eq!(book.worked_before("KB0QSF").unwrap(), None);
}

#[test]
fn two_imports_at_once_add_each_contact_once() {
    let (_folder, book) = book();
    let contacts: Vec<Contact> = (0..200)
        .map(|n| {
            told(
                &format!("K{}QRM", n % 10),
                &format!("2026-05-14T{:02}:{:02}:00Z", n / 60, n % 60),
            )
        })
        .collect();
    let path = book.path().to_owned();
    std::thread::scope(|scope| {
        for _ in 0..4 {
            scope.spawn(|| {
                let mut book = Logbook::open(&path).unwrap();
                book.import("a.adi", &contacts, false, || ()).unwrap();
            });
        }
    });
    assert_eq!(numbers(&book, &EntryFilter::All).len(), 200);
    let whole: String = book
        .connection
        .query_row("PRAGMA integrity_check", [], |row| row.get(0))
        .unwrap();
    assert_eq!(whole, "ok");
}
