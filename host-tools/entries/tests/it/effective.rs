//! What an entry says, of contact and draft.

use jumpseat_entries::{Contact, ContactField, Entry, EntryReview};
use jumpseat_values::{Estimate, PlaceDoubt};

use crate::samples::draft;

fn entry(contact: Option<Contact>) -> Entry {
    let mut draft = draft();
    draft.name = Estimate::known("Ruth".to_owned(), Vec::new());
    draft.locator.doubts = vec![PlaceDoubt::NoFix.into()];
    Entry {
        number: 1,
        trip: None,
        draft: Some(draft),
        contact,
        revision: 0,
        imported: false,
        review: EntryReview::default(),
    }
}

#[test]
fn a_draft_speaks_for_itself() {
    let entry = entry(None);
    assert_eq!(entry.call().as_deref(), Some("KB0QSE"));
    assert_eq!(
        entry.heard_text(ContactField::Name).as_deref(),
        Some("Ruth")
    );
    assert_eq!((entry.hz(), entry.band()), (Some(14_287_500), Some("20m")));
    assert_eq!(
        (entry.mode(), entry.adif_mode()),
        (Some("USB"), Some("SSB"))
    );
    assert_eq!(entry.position(), Some((41.5, -109.5)));
    assert_eq!(entry.open_doubts().len(), 2);
}

#[test]
fn of_a_confirmed_entry_only_what_was_measured_is_the_drafts() {
    let entry = entry(Some(Contact {
        call: "W7QTM".into(),
        hz: Some(7_200_000),
        band: Some("40m".into()),
        ..Contact::default()
    }));
    assert_eq!(entry.call().as_deref(), Some("W7QTM"));
    assert_eq!(entry.heard_text(ContactField::Name), None);
    assert_eq!((entry.hz(), entry.band()), (Some(7_200_000), Some("40m")));
    assert_eq!(entry.on(), draft().on.value);
    assert_eq!(
        (entry.mode(), entry.locator()),
        (Some("USB"), Some("DN51em"))
    );
    // The call sign was doubtful; a person said it.
    assert_eq!(entry.open_doubts(), [PlaceDoubt::NoFix.into()]);
}
