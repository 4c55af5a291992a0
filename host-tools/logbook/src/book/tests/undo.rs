//! Undo: every action, as a whole, and its undoing too.

use super::*;

/// All that a person sees of the entries.
fn seen(book: &Logbook) -> Vec<(i64, Option<Contact>, Option<Draft>, bool)> {
    let entries = book.entries(&EntryFilter::All).unwrap().into_iter();
    entries
        .map(|entry| (entry.number, entry.contact, entry.draft, entry.imported))
        .collect()
}

/// Does the actions one after another, takes them back one after another, and
/// does them again: at every step the logbook is what it was there.
#[test]
fn every_action_can_be_taken_back_and_done_again() {
    let (_folder, mut book) = book();
    let mut states = vec![seen(&book)];
    let actions: [&dyn Fn(&mut Logbook); 7] = [
        &|book| {
            drop(
                book.store_drafts("t", &[draft(0.0, 9.0), draft(20.0, 29.0)])
                    .unwrap(),
            )
        },
        &|book| drop(book.confirm(1, &contact("KB0QSE")).unwrap()),
        &|book| drop(book.confirm(1, &contact("KB0QSF")).unwrap()),
        &|book| {
            let told = [contact("K1QRM"), contact("N5QSL")];
            drop(book.import("a.adi", &told, false, || ()).unwrap());
        },
        // An entry vanishes, another gets a doubt, a third is new.
        &|book| drop(book.store_drafts("t", &[draft(50.0, 59.0)]).unwrap()),
        &|book| drop(book.confirm(3, &contact("K1QRN")).unwrap()),
        &|book| drop(book.confirm(5, &contact("W7QTM")).unwrap()),
    ];
    for action in actions {
        action(&mut book);
        states.push(seen(&book));
    }
    let mut undone = Vec::new();
    for state in states.iter().rev().skip(1) {
        undone.push(book.undo(None).unwrap());
        assert_eq!(&seen(&book), state);
    }
    assert!(matches!(
        book.undo(None),
        Err(LogbookError::NoAction { action: None })
    ));
    // The undoing of the first action was the last, so it is taken back first.
    for (undone, state) in undone.iter().rev().zip(&states[1..]) {
        book.undo(Some(undone.action)).unwrap();
        assert_eq!(&seen(&book), state);
    }
    // What was done again can be taken back again.
    book.undo(None).unwrap();
    assert_eq!(seen(&book), states[6]);
}

#[test]
fn what_was_changed_since_is_not_taken_back_alone() {
    let (_folder, mut book) = book();
    book.store_drafts("t", &[draft(0.0, 9.0)]).unwrap();
    book.confirm(1, &contact("KB0QSE")).unwrap();
    book.confirm(1, &contact("KB0QSF")).unwrap();
    let before = seen(&book);
    for action in [1, 2] {
        let error = book.undo(Some(action)).unwrap_err();
        assert!(matches!(
            error,
            LogbookError::ChangedSince {
                number: 1,
                later: 3,
                ..
            }
        ));
        assert!(
            error.to_string().ends_with("Undo action 3 first"),
            "{error}"
        );
    }
    assert_eq!(seen(&book), before);
    book.undo(Some(3)).unwrap();
    let error = book.undo(Some(3)).unwrap_err();
    assert!(
        matches!(error, LogbookError::Undone { action: 3, by: 4 }),
        "{error}"
    );
    assert!(matches!(
        book.undo(Some(9)),
        Err(LogbookError::NoAction { action: Some(9) })
    ));
    book.undo(Some(2)).unwrap();
    assert_eq!(book.entry(1).unwrap().contact, None);
}

#[test]
fn what_went_out_is_remembered_over_an_undo() {
    let (_folder, mut book) = book();
    book.store_drafts("t", &[draft(0.0, 9.0)]).unwrap();
    book.confirm(1, &contact("KB0QSE")).unwrap();
    let revision = book.entry(1).unwrap().revision;
    book.record_export(&NewExport {
        format: "adif",
        path: "a.adi",
        entries: &[(1, revision)],
    })
    .unwrap();
    assert_eq!(book.exports().unwrap()[0].contacts, 1);
    let undone = book.undo(None).unwrap();
    book.undo(Some(undone.action)).unwrap();
    assert_eq!(numbers(&book, &EntryFilter::New("adif")), NONE);
    // A contact other than the exported one is reported.
    book.undo(None).unwrap();
    book.confirm(1, &contact("KB0QSF")).unwrap();
    assert_eq!(
        numbers(&book, &EntryFilter::ChangedSinceExport("adif")),
        [1]
    );
}

#[test]
fn the_list_says_who_did_what_and_what_became_of_it() {
    let (_folder, mut book) = book();
    book.store_drafts("t", &[draft(0.0, 9.0)]).unwrap();
    book.store_drafts("t", &[draft(0.0, 9.0)]).unwrap();
    book.confirm(1, &contact("KB0QSE")).unwrap();
    book.undo(None).unwrap();
    let actions = book.actions(10).unwrap();
    let told: Vec<(&str, &str, Option<i64>)> = actions
        .iter()
        .map(|action| (action.who.as_str(), action.what.as_str(), action.undone_by))
        .collect();
    assert_eq!(
        told,
        [
            ("person", "undid action 2: confirmed entry 1: KB0QSE", None),
            ("person", "confirmed entry 1: KB0QSE", Some(3)),
            ("draft", "drafted t: 1 new, 0 changed, 0 taken out", None),
        ]
    );
    assert_eq!(book.actions(1).unwrap().len(), 1);
}
