use super::*;
use jumpseat_entries::{Contact, Draft, DraftKind, Entry, EntryVerdict};
use jumpseat_values::{DraftDoubt, Estimate};

mod backup;
mod duplicates;
mod import;
mod opening;
mod review;
mod search;
mod undo;

const NONE: [i64; 0] = [];

fn draft(on_s: f64, off_s: f64) -> Draft {
    fn none<T>() -> Estimate<T> {
        Estimate::unknown(DraftDoubt::NotHeard)
    }
    Draft {
        kind: DraftKind::Contact,
        on_s,
        off_s,
        marks_s: Vec::new(),
        call: none(),
        on: none(),
        off: none(),
        hz: none(),
        mode: none(),
        band: none(),
        locator: none(),
        lat: none(),
        lon: none(),
        area: none(),
        area_off: None,
        sent: none(),
        received: none(),
        their_locator: none(),
        remark: none(),
        name: none(),
        station: None,
        operator: None,
        overs: Vec::new(),
        doubts: Vec::new(),
    }
}

fn contact(call: &str) -> Contact {
    Contact {
        call: call.into(),
        on: Some("2026-05-14T15:04:21.400Z".parse().unwrap()),
        ..Contact::default()
    }
}

/// A logbook in a folder of its own that vanishes with it.
fn book() -> (tempfile::TempDir, Logbook) {
    let folder = tempfile::tempdir().unwrap();
    let book = Logbook::open(&folder.path().join("home/log.sqlite")).unwrap();
    (folder, book)
}

fn numbers(book: &Logbook, filter: &EntryFilter<'_>) -> Vec<i64> {
    let entries = book.entries(filter).unwrap();
    entries.iter().map(|entry| entry.number).collect()
}

#[test]
fn drafting_again_keeps_numbers_and_what_a_person_confirmed() {
    let (_folder, mut book) = book();
    let first = book
        .store_drafts(
            "t",
            &[draft(10.0, 40.0), draft(100.0, 140.0), draft(200.0, 230.0)],
        )
        .unwrap();
    assert_eq!(first.numbers, [1, 2, 3]);
    assert_eq!(first.added, [1, 2, 3]);
    book.confirm(1, &contact("KB0QSE")).unwrap();
    book.confirm(2, &contact("K1QRM")).unwrap();

    // 1 moved a little, 2 is gone, 3 is gone, one is new.
    let again = [draft(12.0, 41.0), draft(300.0, 310.0)];
    let second = book.store_drafts("t", &again).unwrap();
    assert_eq!(
        second,
        StoredDrafts {
            numbers: vec![1, 4],
            added: vec![4],
            changed: vec![1],
            removed: vec![3],
            kept: vec![2],
        }
    );
    assert_eq!(numbers(&book, &EntryFilter::Trip("t")), [1, 2, 4]);
    let one = book.entry(1).unwrap();
    assert_eq!(one.contact, Some(contact("KB0QSE")));
    assert_eq!(one.draft, Some(again[0].clone()));
    let two = book.entry(2).unwrap();
    assert_eq!(two.contact, Some(contact("K1QRM")));
    assert!(
        two.draft
            .unwrap()
            .doubts
            .contains(&DraftDoubt::NotFoundAgain.into())
    );

    // The same again changes nothing, and the doubt is not piled up.
    let third = book.store_drafts("t", &again).unwrap();
    assert_eq!((third.changed, third.removed), (vec![], vec![]));
    assert_eq!(book.entry(2).unwrap().draft.unwrap().doubts.len(), 1);
    // A number is not given twice.
    book.store_drafts("t", &[]).unwrap();
    assert_eq!(
        book.store_drafts("u", &[draft(0.0, 1.0)]).unwrap().numbers,
        [5]
    );
}

#[test]
fn each_draft_finds_the_entry_closest_to_it() {
    let (_folder, mut book) = book();
    book.store_drafts("t", &[draft(0.0, 100.0), draft(100.0, 200.0)])
        .unwrap();
    // The first was split in two; the longer part keeps its number.
    let stored = book
        .store_drafts(
            "t",
            &[draft(0.0, 32.0), draft(33.0, 100.0), draft(100.0, 200.0)],
        )
        .unwrap();
    assert_eq!(stored.numbers, [3, 1, 2]);
}

#[test]
fn every_change_is_remembered_with_what_was_before() {
    let (_folder, mut book) = book();
    book.store_drafts("t", &[draft(0.0, 9.0)]).unwrap();
    assert_eq!(book.confirm(1, &contact("KB0QSE")).unwrap(), None);
    let before = book.confirm(1, &contact("KB0QSF")).unwrap();
    assert_eq!(before, Some(contact("KB0QSE")));
    // Nothing new, nothing to remember.
    book.confirm(1, &contact("KB0QSF")).unwrap();
    let history = book.history(1).unwrap();
    let who: Vec<&str> = history.iter().map(|change| change.who.as_str()).collect();
    assert_eq!(who, ["draft", "draft", "person", "person"]);
    let before: Contact = serde_json::from_str(history[3].before.as_deref().unwrap()).unwrap();
    assert_eq!(before.call, "KB0QSE");
}

#[test]
fn nothing_goes_out_twice_unless_asked() {
    let (_folder, mut book) = book();
    book.store_drafts("t", &[draft(0.0, 9.0), draft(20.0, 29.0)])
        .unwrap();
    assert_eq!(numbers(&book, &EntryFilter::New("adif")), NONE);
    book.confirm(1, &contact("KB0QSE")).unwrap();
    assert_eq!(numbers(&book, &EntryFilter::New("adif")), [1]);
    book.record_export(&NewExport {
        format: "adif",
        path: "a.adi",
        entries: &[(1, 1)],
    })
    .unwrap();
    book.confirm(2, &contact("K1QRM")).unwrap();
    assert_eq!(numbers(&book, &EntryFilter::New("adif")), [2]);
    assert_eq!(numbers(&book, &EntryFilter::Confirmed), [1, 2]);
    // Each format has its own record.
    assert_eq!(numbers(&book, &EntryFilter::New("csv")), [1, 2]);
    assert_eq!(
        numbers(&book, &EntryFilter::ChangedSinceExport("adif")),
        NONE
    );
    book.confirm(1, &contact("KB0QSF")).unwrap();
    assert_eq!(
        numbers(&book, &EntryFilter::ChangedSinceExport("adif")),
        [1]
    );
    assert_eq!(numbers(&book, &EntryFilter::New("adif")), [2]);
    assert_eq!(book.count_of_trip("t").unwrap(), (2, 2));
}

#[test]
fn the_same_draft_again_is_no_change() {
    let (_folder, mut book) = book();
    let mut same = draft(10.0, 40.0);
    // The logbook has milliseconds, and every digit of a number.
    same.on.value = Some("2026-05-14T15:04:28.123456789Z".parse().unwrap());
    same.call.probability = Some(0.123_456_789_012_345_68);
    book.store_drafts("t", std::slice::from_ref(&same)).unwrap();
    let again = book.store_drafts("t", &[same]).unwrap();
    assert_eq!(again.changed, NONE);
    assert_eq!(book.actions(9).unwrap().len(), 1);
}

#[test]
fn entries_come_in_order_of_time() {
    let (_folder, mut book) = book();
    let at = |on_s: f64, utc: &str| {
        let mut draft = draft(on_s, on_s + 9.0);
        draft.on.value = Some(utc.parse().unwrap());
        draft
    };
    book.store_drafts(
        "b",
        &[
            at(5.0, "2026-05-15T00:00:00Z"),
            at(50.0, "2026-05-15T00:00:45Z"),
        ],
    )
    .unwrap();
    book.store_drafts("a", &[at(7.0, "2026-05-14T00:00:00Z")])
        .unwrap();
    assert_eq!(numbers(&book, &EntryFilter::All), [3, 1, 2]);
}

#[test]
fn an_unknown_number_is_an_error_and_changes_nothing() {
    let (_folder, mut book) = book();
    for error in [
        book.confirm(7, &contact("KB0QSE")).unwrap_err(),
        book.entry(7).unwrap_err(),
    ] {
        assert!(
            matches!(error, LogbookError::NoEntry { number: 7 }),
            "{error}"
        );
    }
    assert_eq!(numbers(&book, &EntryFilter::All), NONE);
    assert_eq!(book.history(7).unwrap(), []);
}

#[test]
fn what_is_no_logbook_is_refused_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.sqlite");
    std::fs::write(&path, "a letter to the editor, long enough to be looked at").unwrap();
    let error = Logbook::open(&path).unwrap_err().to_string();
    assert!(
        error.contains("log.sqlite") && error.contains("not a logbook"),
        "{error}"
    );
    assert!(
        std::fs::read_to_string(&path)
            .unwrap()
            .starts_with("a letter")
    );
}

#[test]
fn two_commands_at_once_wait_for_each_other() {
    let (_folder, mut book) = book();
    book.store_drafts("t", &[draft(0.0, 9.0)]).unwrap();
    let path = book.path().to_owned();
    std::thread::scope(|scope| {
        for call in ["KB0QSE", "K1QRM", "W7QTM", "N5QSL"] {
            let path = &path;
            scope.spawn(move || {
                let mut book = Logbook::open(path).unwrap();
                for _ in 0..5 {
                    book.confirm(1, &contact(call)).unwrap();
                }
            });
        }
    });
    let changes = book.history(1).unwrap();
    // Each change starts from what the one before it left.
    for pair in changes[2..].windows(2) {
        assert_eq!(pair[1].before, pair[0].after);
    }
}

#[test]
fn an_action_that_does_not_end_leaves_nothing_behind() {
    let (_folder, mut book) = book();
    book.store_drafts("t", &[draft(0.0, 9.0)]).unwrap();
    let failed = book.transaction("fail", |change, _| {
        change.execute("DELETE FROM entries", []).unwrap();
        Err::<(), _>(LogbookError::NoEntry { number: 0 })
    });
    assert!(failed.is_err());
    assert_eq!(numbers(&book, &EntryFilter::All), [1]);
    // The numbers of an export must be entries (foreign keys are on).
    let export = NewExport {
        format: "adif",
        path: "a.adi",
        entries: &[(1, 1), (9, 1)],
    };
    book.record_export(&export).unwrap_err();
    book.confirm(1, &contact("KB0QSE")).unwrap();
    assert_eq!(numbers(&book, &EntryFilter::New("adif")), [1]);
}
