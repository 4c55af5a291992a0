//! A file that we wrote reads back as it was, whatever it was made of.

use chrono::{DateTime, Utc};
use proptest::prelude::*;

use jumpseat_entries::{Contact, ExtraField};
use jumpseat_formats::adif::{exportable, read, write, write_adx};

const STAMP: DateTime<Utc> = DateTime::UNIX_EPOCH;

fn contacts(text: &[u8]) -> Vec<Contact> {
    let read = read(text);
    read.records.into_iter().map(|told| told.contact).collect()
}

/// Whatever a file holds: what is written of it reads back to the same file,
/// without a complaint.
#[track_caller]
fn check(bytes: &[u8]) {
    let told = contacts(bytes);
    for write in [write, write_adx] {
        let once = write(&told, "P", "1", STAMP).text;
        let back = read(once.as_bytes());
        assert_eq!(back.complaints.kept(), [], "{once}");
        let twice = write(&contacts(once.as_bytes()), "P", "1", STAMP).text;
        assert_eq!(once, twice);
    }
}

/// Ends a record whose time is known.
const END: &str = "<QSO_DATE:8>20260514<TIME_ON:4>1504<EOR>";

#[test]
fn what_the_fuzzers_found() {
    for text in [
        // A definition whose field stands in no record that is written.
        "<CALL:9>W7QTM <QSO_DACOMMENT:14>the <eor\u{a3} word <EOR>",
        // Capitals of what is only ASCII after it was written.
        "<CALL:3>W7\u{b0}$",
        // A character that XML cannot hold, in a name.
        "<CALL:5>W7QTM<NAME:4>J\u{e}sz$",
        // A field of which nothing is left in ASCII.
        "<CALL:5>W7QTM<ODD:2>\u{a0}\u{80}$",
        // A field twice, of which the first is nothing in ASCII.
        "<CALL:5>W7QTM<ODD:2>\u{8a} <ODD:1>]$",
        // A user's field that is called like one for every character.
        "<CALL:5>W7QTM<FREQ:2>14<FREQ_INTL:1>x$",
        "<CALL:5>W7QTM<NOTES_INTL:1>x<NOTES:1>y$",
    ] {
        check(text.replace('$', END).as_bytes());
    }
}

/// Text that an ADI file can hold, in one line.
const LINE: &str = "[!-~]([ -~]{0,12}[!-~])?";

fn word() -> impl Strategy<Value = Option<String>> {
    prop::option::of(LINE)
}

prop_compose! {
    fn any_contact()(
        seconds in 0_i64..4_000_000_000,
        length in prop::option::of(0_i64..7_000),
        whole_minutes in any::<bool>(),
        hz in prop::option::of((1_u64..300_000_000_000, 1_u64..300_000_000_000)),
        words in [word(), word(), word(), word(), word(), word(), word(), word()],
        lat in prop::option::of(-5_400_000_i32..=5_400_000),
        lon in prop::option::of(-10_800_000_i32..=10_800_000),
        own in prop::option::of("[A-R]{2}[0-9]{2}([A-X]{2}([0-9]{2}([A-X]{2}([0-9]{2})?)?)?)?"),
        notes in prop::option::of(LINE),
    ) -> Contact {
        let minute = if whole_minutes { 60 } else { 1 };
        let at = |seconds: i64| DateTime::from_timestamp(seconds / minute * minute, 0);
        // As a file has it: in thousandths of a minute.
        let place = |thousandths: i32| {
            let degrees = (f64::from(thousandths) / 60_000.0 * 1e6).round() / 1e6;
            if degrees == 0.0 { 0.0 } else { degrees }
        };
        let [name, comment, qth, sig, info, my_sig, my_info, more] = words;
        let extra = |name: &str, value: Option<String>, kind: &str, user: bool| {
            value.map(|value| ExtraField {
                name: name.into(),
                value,
                kind: Some(kind.into()),
                user: user.then(|| "{1:9}".into()),
            })
        };
        Contact {
            call: "KB0QSE".into(),
            on: at(seconds),
            off: length.and_then(|length| at(seconds + length)),
            whole_minutes,
            hz: hz.map(|(hz, _)| hz),
            hz_rx: hz.map(|(_, hz)| hz),
            name, comment, qth, sig, sig_info: info, my_sig, my_sig_info: my_info,
            lat: lat.map(place),
            lon: lon.map(place),
            locator: own.clone(),
            their_locator: own,
            more: [
                extra("APP_P_F", more, "N", false),
                extra("SIZE", notes, "S", true),
            ].into_iter().flatten().collect(),
            ..Contact::default()
        }
    }
}

proptest! {
    #[test]
    fn a_contact_reads_back_as_it_was(contact in any_contact()) {
        for write in [write, write_adx] {
            let written = write(std::slice::from_ref(&contact), "P", "1", STAMP);
            // What ends a record is written otherwise, and said.
            if !written.doubts.is_empty() {
                prop_assert!(written.text.contains("(EO"));
                continue;
            }
            let read = read(written.text.as_bytes());
            prop_assert_eq!(read.complaints.kept(), []);
            let mut back = contacts(written.text.as_bytes()).remove(0);
            if contact.hz == contact.hz_rx {
                back.hz_rx = contact.hz_rx;
            }
            prop_assert_eq!(&back, &contact);
        }
    }

    #[test]
    fn every_character_of_a_name_is_in_an_adx_file(name in "\\PC{1,20}", comment in "\\PC{1,20}") {
        let contact = Contact {
            call: "KB0QSE".into(),
            on: Some(STAMP),
            name: Some(name.trim().to_owned()).filter(|name| !name.is_empty()),
            comment: Some(comment.trim().to_owned()).filter(|text| !text.is_empty()),
            ..Contact::default()
        };
        prop_assert!(exportable(&contact).is_ok());
        let text = write_adx(std::slice::from_ref(&contact), "P", "1", STAMP).text;
        prop_assert_eq!(&contacts(text.as_bytes())[0], &contact);
    }

    /// Whatever stands in a field whose length is right, in bytes or in characters.
    #[test]
    fn no_text_of_a_field_becomes_a_contact(
        text in "(<EOR>|<eor>|<CALL:6>KB0QSE|<QSO_DATE:8>20260514|<TIME_ON:4>1504|[a-zé <>:\\n]){0,20}",
        in_characters in any::<bool>(),
        first in any::<bool>(),
    ) {
        let length = if in_characters { text.chars().count() } else { text.len() };
        // Another field tells how the file counts.
        let told = if in_characters { 4 } else { 5 };
        let before = format!("<CALL:5>N5QSL<NAME:{told}>José<EOR>\n");
        let remark = format!("<COMMENT:{length}>{text}");
        let own = "<CALL:5>W7QTM";
        let file = if first {
            format!("{before}{remark}{own}<EOR>")
        } else {
            format!("{before}{own}{remark}<EOR>")
        };
        for contact in contacts(file.as_bytes()) {
            prop_assert!(contact.call != "KB0QSE", "{}", file);
        }
    }

    #[test]
    fn any_text_is_read_without_a_panic(text in "(<|>|:|<CALL:[0-9]{1,2}>|<EOR>|<eoh>|[0-9a-é \n]|<N:3:S>){0,40}") {
        check(text.as_bytes());
        check(format!("<ADX>{text}").as_bytes());
    }
}
