use super::*;
use crate::{ContactField, EntryReview};

fn entry() -> Entry {
    Entry {
        number: 1,
        trip: None,
        draft: None,
        contact: Some(Contact {
            call: "W7QTM".into(),
            on: Some("2026-05-14T15:04:28.400Z".parse().unwrap()),
            hz: Some(14_287_500),
            band: Some("20m".into()),
            mode: Some("SSB".into()),
            submode: Some("USB".into()),
            ..Contact::default()
        }),
        revision: 1,
        imported: false,
        review: EntryReview::default(),
    }
}

#[track_caller]
fn said(word: ContactField, text: &str) -> Result<Contact, EditError> {
    let said = Edits::from([(word, text.to_owned())]);
    edited_contact(&entry(), &OwnStation::default(), &said).map(|(contact, _)| contact)
}

#[test]
fn a_typed_word_becomes_the_value_that_it_means() {
    for (word, text, kept) in [
        (ContactField::Call, "kb0qse/m", "KB0QSE/M"),
        (ContactField::Name, "  Ruth ", "Ruth"),
        (ContactField::Mhz, "146.55", "146.550"),
        (ContactField::Mode, "fm", "FM"),
        (ContactField::On, "2026-05-14 15:05", "2026-05-14 15:05:00"),
        (
            ContactField::Off,
            "2026-05-14T15:06:07Z",
            "2026-05-14 15:06:07",
        ),
        (ContactField::TheirLocator, "DN51em", "DN51em"),
        (ContactField::TheirLocator, "dn51EM", "DN51em"),
    ] {
        let contact = said(word, text).unwrap();
        assert_eq!(
            word.text(&contact).as_deref(),
            Some(kept),
            "{word:?} {text}"
        );
    }
    let moved = said(ContactField::Mhz, "146.55").unwrap();
    assert_eq!(moved.band.as_deref(), Some("2m"), "the band follows");
}

#[test]
fn what_can_never_stand_is_refused_with_what_would() {
    for (word, text) in [
        (ContactField::Call, ""),
        (ContactField::Call, "<script>"),
        (ContactField::Mhz, "loud"),
        (ContactField::Mhz, "14287.5"),
        (ContactField::ReceiveMhz, "-1"),
        (ContactField::ReceiveMhz, "146550"),
        (ContactField::Off, "2026-05-14 15:00"),
        (ContactField::On, "yesterday"),
        (ContactField::Locator, "nowhere"),
    ] {
        let wrong = said(word, text).unwrap_err();
        assert_eq!(wrong.field, word, "{text}");
    }
}

#[test]
fn kilohertz_are_refused_with_the_megahertz() {
    let wrong = said(ContactField::Mhz, "14287.5").unwrap_err();
    assert!(wrong.reason.ends_with("type 14.2875"), "{wrong}");
    // Gigahertz are not kilohertz, and a frequency outside the bands may still be typed.
    assert_eq!(
        said(ContactField::Mhz, "10368").unwrap().hz,
        Some(10_368_000_000)
    );
    assert_eq!(
        said(ContactField::Mhz, "27.185").unwrap().hz,
        Some(27_185_000)
    );
}

#[test]
fn an_own_call_sign_that_was_written_down_later_counts() {
    let own = OwnStation {
        call: Some("W7QTM/M".into()),
        operator: Some("KB0QSE".into()),
    };
    let (late, operator) = (Some("W7QTM/M"), Some("KB0QSE"));
    for (imported, station, expected) in [
        (false, None, (late, operator)),
        (true, None, (None, None)),
        // Under another call sign somebody else may have been at it.
        (false, Some("N0QRD"), (Some("N0QRD"), None)),
    ] {
        let mut entry = Entry {
            imported,
            ..entry()
        };
        entry.contact.as_mut().unwrap().station = station.map(str::to_owned);
        let contact = starting_contact(&entry, &own, &mut Vec::new());
        let signed = (contact.station.as_deref(), contact.operator.as_deref());
        assert_eq!(signed, expected);
    }
}

#[test]
fn the_end_is_held_to_the_start_where_one_of_them_changes() {
    let check = |off: &str, said: &[(ContactField, &str)], refused: Option<ContactField>| {
        let mut entry = entry();
        entry.contact.as_mut().unwrap().off = off.parse().ok();
        let said = said.iter().map(|(word, text)| (*word, (*text).to_owned()));
        let told = edited_contact(&entry, &OwnStation::default(), &said.collect());
        assert_eq!(
            told.as_ref().err().map(|wrong| wrong.field),
            refused,
            "{off}"
        );
        told.ok().map(|(contact, _)| contact)
    };
    let early = "2026-05-14T15:00:00Z";
    let (on, off) = ("2026-05-14 15:04:28", "2026-05-14 15:00:00");
    // The page sends every field; wrong times of another log can still be corrected.
    check(
        early,
        &[
            (ContactField::On, on),
            (ContactField::Off, off),
            (ContactField::Name, "Ruth"),
        ],
        None,
    );
    check(
        early,
        &[
            (ContactField::On, "2026-05-14 15:04:29"),
            (ContactField::Off, off),
        ],
        Some(ContactField::On),
    );
    check(
        "",
        &[(ContactField::Off, "2026-05-14 15:04:27")],
        Some(ContactField::Off),
    );
    // It began at 15:04:28.4.
    let contact = check("", &[(ContactField::Off, on)], None).unwrap();
    assert_eq!(contact.off, contact.on);
}

#[test]
fn a_time_that_is_shown_rounded_and_not_changed_stays_exact() {
    let contact = said(ContactField::On, "2026-05-14 15:04:28").unwrap();
    assert_eq!(contact.on, entry().contact.unwrap().on);
}
