use super::*;
use jumpseat_entries::{ContactField, Edits};

fn three() -> (tempfile::TempDir, Logbook) {
    let (folder, mut book) = book();
    let drafts = [draft(10.0, 40.0), draft(50.0, 80.0), draft(200.0, 230.0)];
    book.store_drafts("t", &drafts).unwrap();
    (folder, book)
}

fn said(book: &Logbook, number: i64) -> Edits {
    book.entry(number).unwrap().review.edits
}

#[test]
fn what_was_typed_is_kept_until_it_is_confirmed_and_can_be_undone() {
    let (_folder, mut book) = three();
    let seen = book.seen(1).unwrap();
    let seen = book
        .keep_edit(1, seen, ContactField::Call, Some("KB0QSE"))
        .unwrap();
    let seen = book
        .keep_edit(1, seen, ContactField::Name, Some("Ruth"))
        .unwrap();
    assert_eq!(said(&book, 1).len(), 2);
    book.undo(None).unwrap();
    assert_eq!(said(&book, 1).len(), 1);
    let stale = book.confirm_seen(1, Some(seen), &contact("KB0QSE"));
    assert!(matches!(stale, Err(LogbookError::Stale { number: 1 })));
    let seen = book.seen(1).unwrap();
    book.confirm_seen(1, Some(seen), &contact("KB0QSE"))
        .unwrap();
    assert!(book.entry(1).unwrap().review.is_empty());
    book.undo(None).unwrap();
    assert_eq!(said(&book, 1).len(), 1, "the words are back");
}

#[test]
fn no_contact_stays_no_contact_when_the_trip_is_drafted_again() {
    let (_folder, mut book) = three();
    let seen = book.seen(2).unwrap();
    book.decide(2, seen, Some(EntryVerdict::NotAContact))
        .unwrap();
    assert_eq!(numbers(&book, &EntryFilter::Unconfirmed), [1, 3]);
    assert_eq!(
        book.count_of_trip("t").unwrap(),
        (2, 0),
        "it is not to be decided"
    );
    book.store_drafts("t", &[draft(51.0, 79.0)]).unwrap();
    let entry = book.entry(2).unwrap();
    assert_eq!(entry.review.verdict, Some(EntryVerdict::NotAContact));
    assert_eq!(numbers(&book, &EntryFilter::Unconfirmed), NONE);
}

#[test]
fn joined_and_taken_apart_entries_survive_a_new_draft_and_are_undone_whole() {
    let (_folder, mut book) = three();
    let before = book.entries(&EntryFilter::All).unwrap();
    let seen = |book: &Logbook, number| (number, book.seen(number).unwrap());
    let (first, second) = (seen(&book, 1), seen(&book, 2));
    book.join(first, second, &draft(10.0, 80.0)).unwrap();
    assert_eq!(numbers(&book, &EntryFilter::All), [1, 3]);
    let (number, at) = seen(&book, 3);
    let new = book
        .split(number, at, (&draft(200.0, 210.0), &draft(212.0, 230.0)))
        .unwrap();
    assert_eq!(new, 4);
    let drafts = [draft(10.0, 40.0), draft(50.0, 80.0), draft(200.0, 230.0)];
    let stored = book.store_drafts("t", &drafts).unwrap();
    assert_eq!(stored.numbers, [1, 1, 4]);
    assert_eq!(numbers(&book, &EntryFilter::All), [1, 3, 4]);
    book.undo(None).unwrap();
    book.undo(None).unwrap();
    assert_eq!(book.entries(&EntryFilter::All).unwrap(), before);
}

#[test]
fn two_confirmed_entries_are_not_joined_and_a_confirmed_one_is_not_parted() {
    let (_folder, mut book) = three();
    book.confirm(1, &contact("KB0QSE")).unwrap();
    book.confirm(2, &contact("K1QRM")).unwrap();
    let seen = |number| (number, book.seen(number).unwrap());
    let (first, second) = (seen(1), seen(2));
    let joined = book.join(first, second, &draft(10.0, 80.0));
    assert!(matches!(joined, Err(LogbookError::NotJoined { .. })));
    let pieces = (&draft(10.0, 20.0), &draft(20.0, 40.0));
    let parted = book.split(first.0, first.1, pieces);
    assert!(matches!(parted, Err(LogbookError::NotSplit { .. })));
}

#[test]
fn an_entry_that_a_person_worked_on_is_not_taken_out_by_a_new_draft() {
    let (_folder, mut book) = three();
    let seen = book.seen(3).unwrap();
    book.keep_edit(3, seen, ContactField::Name, Some("Ruth"))
        .unwrap();
    let stored = book.store_drafts("t", &[draft(10.0, 40.0)]).unwrap();
    assert_eq!((stored.removed, stored.kept), (vec![2], vec![3]));
}
