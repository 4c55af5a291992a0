//! Files as programs really write them, and files that nobody should.

use super::read;
use jumpseat_entries::{Contact, ExtraField};

/// Each record as "line CALL=…|…", each complaint as line and part of the reason.
#[track_caller]
fn check(bytes: &[u8], records: &[&str], complaints: &[(usize, &str)]) {
    let read = read(bytes);
    let found: Vec<String> = read
        .records
        .iter()
        .map(|told| format!("{} {}", told.line, line(&told.contact)))
        .collect();
    assert_eq!(found, records);
    let said = read.complaints.kept();
    assert_eq!(said.len(), complaints.len(), "{said:?}");
    for (complaint, (line, part)) in said.iter().zip(complaints) {
        assert_eq!(complaint.line, *line, "{complaint:?}");
        assert!(complaint.reason.contains(part), "{complaint:?}");
    }
}

fn line(contact: &Contact) -> String {
    let on = contact
        .on
        .map(|on| on.format("%Y-%m-%dT%H:%M:%S").to_string());
    let mut parts = vec![contact.call.clone()];
    parts.extend(on);
    parts.extend(contact.name.clone());
    parts.extend(
        contact
            .more
            .iter()
            .map(|extra| format!("{}={}", extra.name, extra.value)),
    );
    parts.join("|")
}

/// Ends a record whose time is known.
const END: &str = "<QSO_DATE:8>20260514<TIME_ON:4>1504<EOR>";

#[track_caller]
fn adi(text: &str, records: &[&str], complaints: &[(usize, &str)]) {
    check(text.replace('$', END).as_bytes(), records, complaints);
}

const ON: &str = "2026-05-14T15:04:00";

#[test]
fn adi_files_as_programs_write_them() {
    let plain = format!("1 KB0QSE|{ON}");
    check(b"", &[], &[]);
    adi("<CALL:6>KB0QSE$", &[&plain], &[]);
    adi("<CALL:6>kb0qse$", &[&plain], &[]);
    let third = format!("3 KB0QSE|{ON}");
    adi(
        "head\r\n<adif_ver:5>3.1.6<eoh>\r\n<call:6:s>KB0QSE note $\r\n",
        &[&third],
        &[],
    );
    // A header that does not end, and none at all.
    adi(
        "head <ADIF_VER:5>3.1.6 <PROGRAMID:1>P\n\n<CALL:6>KB0QSE$",
        &[&third],
        &[],
    );
    let fourth = format!("4 K1QRM|{ON}|APP_X_Y=ab");
    adi(
        "<CALL:6>KB0QSE\n$\na < b <note> // said <https://x>\n<CALL:5>K1QRM<APP_X_Y:2>ab $",
        &[&plain, &fourth],
        &[],
    );
    // Two ends of a header, an empty record, an empty field.
    adi(
        "a<EOH>b<EOH><EOR><CALL:6>KB0QSE<NAME:0>$<EOR>",
        &[&plain],
        &[],
    );
}

#[test]
fn lengths_in_bytes_or_characters_and_every_encoding() {
    let named = format!("1 W7QTM|{ON}|José");
    adi("<CALL:5>W7QTM<NAME:5>José $", &[&named], &[]);
    adi("<CALL:5>W7QTM<NAME:4>José $", &[&named], &[]);
    let latin = format!("<CALL:5>W7QTM<NAME:4>Jos\u{e9} {END}");
    let latin: Vec<u8> = latin.chars().map(|c| c as u8).collect();
    check(&latin, &[&named], &[]);
    // A length in bytes of UTF-8, the text in Latin-1.
    let mut longer = b"<CALL:5>W7QTM<NAME:5>".to_vec();
    longer.extend_from_slice(b"Jos\xe9 ");
    longer.extend_from_slice(END.as_bytes());
    check(&longer, &[&named], &[]);
    let utf16: Vec<u8> = format!("\u{feff}<CALL:5>W7QTM<NAME:4>José{END}")
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .collect();
    check(&utf16, &[&named], &[]);
}

#[test]
fn what_is_wrong_in_an_adi_file_is_said_and_the_rest_is_read() {
    let one = format!("1 W7QTM|{ON}");
    let two = format!("2 K1QRM|{ON}");
    let wrong = "CALL: its length is wrong";
    for tag in [
        "CALL:9",
        "CALL:2",
        "CALL:x",
        "CALL:99999999999999999999",
        "CALL:-5",
    ] {
        adi(
            &format!("<{tag}>W7QTM $\n<CALL:5>K1QRM$"),
            &[&one, &two],
            &[(1, wrong)],
        );
    }
    adi(
        "<CALL:5>W7QTM$\n\n<CALL:5>K1QRM\n",
        &[&one],
        &[(3, "without an end")],
    );
    adi(
        "\n<NAME:4>Ruth $<CALL:5>K1QRM$",
        &[&two],
        &[(2, "without a call sign")],
    );
    adi(
        "<CALL:5>W7QTM<FREQ:3>abc<MY_LAT:3>N91<GRIDSQUARE:4>99AB<MY_DXCC:1>x$",
        &[&one],
        &[
            (1, "FREQ: 'abc' is not a number of megahertz"),
            (1, "GRIDSQUARE: '99AB' is not a locator"),
            (1, "MY_LAT: 'N91' is not a place"),
            (1, "MY_DXCC: 'x'"),
        ],
    );
    adi(
        "<CALL:5>W7QTM<CALL:5>K1QRM$",
        &[&one],
        &[(1, "CALL: it appears twice")],
    );
    check(
        b"<CALL:5>W7QTM<QSO_DATE:8>20260514<TIME_ON:4>2560<EOR>",
        &["1 W7QTM|QSO_DATE=20260514"],
        &[(1, "TIME_ON: '2560'"), (1, "cannot be exported")],
    );
}

/// Reads a log in which a remark holds what may be a contact of its own.
#[track_caller]
fn remark(length: usize, inside: &str, behind: &str, contacts: &[&str], complaints: &[usize]) {
    let text = format!(
        "<CALL:5>K1QRM$\n<QSO_DATE:8>20260514<TIME_ON:4>1504<CALL:5>W7QTM<COMMENT:{length}>{inside}{behind}\n<CALL:5>N5QSL$"
    )
    .replace('$', END);
    let read = read(text.as_bytes());
    let calls: Vec<&str> = read
        .records
        .iter()
        .map(|told| told.contact.call.as_str())
        .collect();
    assert_eq!(calls, contacts, "{text}");
    let said = read.complaints.kept();
    let lines: Vec<usize> = said.iter().map(|complaint| complaint.line).collect();
    assert_eq!(lines, complaints, "{said:?}");
    for complaint in said {
        assert!(complaint.reason.contains("COMMENT"), "{complaint:?}");
    }
}

#[test]
fn a_remark_never_becomes_a_contact() {
    let inner = format!("hi<EOR>\n<CALL:6>KB0QSE{END}");
    let whole = inner.len();
    let (first, last) = ("K1QRM", "N5QSL");
    // Right to the byte, by which the record goes on behind it; wrong by a little, as
    // of another encoding; far too long.
    for length in [whole, whole + 3, whole - 3, 20] {
        remark(length, &inner, " <EOR>", &[first, last], &[2]);
    }
    // It ends within the record that follows, and with the file.
    remark(whole + 12, &inner, " <EOR>", &[first], &[2]);
    remark(whole + 1000, &inner, " <EOR>", &[first], &[2]);
    // No field is that long: it is a number that went wrong.
    remark(70_000, "hi", "<EOR>", &[first, last], &[2]);
    // With blanks in it the end of a record is one all the same.
    let spaced = inner.replace("<EOR>", "< eor >");
    remark(spaced.len(), &spaced, " <EOR>", &[first, last], &[2]);
    // The words alone end nothing, nor does an end before the record's own.
    let all = [first, "W7QTM", last];
    remark(14, "the <EOR> word", "<EOR>", &all, &[]);
    remark(7, "hi<EOR>", "\n<EOR>", &all, &[]);
    // Text in brackets, and a field's name without a record's end before it.
    remark(14, "<a> b <CALL:6>", "<EOR>", &all, &[]);
}

#[test]
fn a_record_inside_a_field_is_put_aside() {
    adx(
        &format!(
            "<RECORD><CALL>W7QTM</CALL><NAME>Ruth\n<RECORD><CALL>KB0QSE</CALL>{CLOSE}</NAME>{CLOSE}\n\
             <RECORD><CALL>K1QRM</CALL>$"
        ),
        &[&format!("6 K1QRM|{ON}")],
        &[(5, "NAME: a record begins inside it")],
    );
}

#[test]
fn what_is_not_ours_is_kept_with_its_kind() {
    let text = format!(
        "head <USERDEF1:19:E>SweaterSize,{{S,M,L}}<USERDEF2:3:N>EPC<EOH>\
         <CALL:5>W7QTM<SWEATERSIZE:1>M<EPC:5>32123<ODD:2>xy<QSL_SENT:1>Y<APP_P_F:1:S>z\
         <NOTES:4>a\r\nb{END}"
    );
    let read = read(text.as_bytes());
    let extra = |name: &str, value: &str, kind: Option<&str>, user: Option<&str>| ExtraField {
        name: name.into(),
        value: value.into(),
        kind: kind.map(Into::into),
        user: user.map(Into::into),
    };
    assert_eq!(
        read.records[0].contact.more,
        [
            extra("SWEATERSIZE", "M", Some("E"), Some("{S,M,L}")),
            extra("EPC", "32123", Some("N"), Some("")),
            extra("ODD", "xy", Some("S"), Some("")),
            extra("QSL_SENT", "Y", None, None),
            extra("APP_P_F", "z", Some("S"), None),
            extra("NOTES", "a\nb", None, None),
        ]
    );
}

/// Ends a record whose time is known.
const CLOSE: &str = "<QSO_DATE>20260514</QSO_DATE><TIME_ON>1504</TIME_ON></RECORD>";

#[track_caller]
fn adx(records: &str, expected: &[&str], complaints: &[(usize, &str)]) {
    let text = format!("<?xml version=\"1.0\"?>\n<ADX>\n<RECORDS>\n{records}\n</RECORDS></ADX>");
    check(text.replace('$', CLOSE).as_bytes(), expected, complaints);
}

#[test]
fn adx_files() {
    let plain = format!("4 KB0QSE|{ON}");
    adx("<RECORD><CALL>KB0QSE</CALL>$", &[&plain], &[]);
    adx(
        "<record><call> kb0qse </call>$<RECORD/><RECORD></RECORD>",
        &[&plain],
        &[],
    );
    let named = format!("4 KB0QSE|{ON}|José & <R>");
    adx(
        "<RECORD><CALL>KB0QSE</CALL><NAME>Jose</NAME>\
         <NAME_INTL>Jos&#xe9; &amp; <![CDATA[<R>]]></NAME_INTL><!-- said -->$",
        &[&named],
        &[],
    );
    let more = format!("4 KB0QSE|{ON}|APP_P_F=z|EPC=5");
    adx(
        "<RECORD><CALL>KB0QSE</CALL><APP PROGRAMID=\"p\" FIELDNAME=\"f\" TYPE=\"S\">z</APP>\
         <USERDEF FIELDNAME=\"EPC\">5</USERDEF>$",
        &[&more],
        &[],
    );
}

#[test]
fn what_is_wrong_in_an_adx_file_is_said_and_the_rest_is_read() {
    let one = format!("4 W7QTM|{ON}");
    let two = format!("6 K1QRM|{ON}");
    let second = "\n\n<RECORD><CALL>K1QRM</CALL>$";
    for broken in ["<CALL", "&nonsense;", "<!DOCTYPE [", "<![CDATA["] {
        adx(
            &format!("<RECORD><CALL>W7QTM</CALL>$<RECORD>{broken}{second}"),
            &[&one, &two],
            &[(4, "")],
        );
    }
    adx(
        &format!("<RECORD><CALL>W7QTM</CALL>{second}"),
        &[&two],
        &[(4, "without an end")],
    );
    adx(
        &format!("<RECORD><CALL>W7QTM</CALL><NAME>Ruth</RECORD>{second}"),
        &["4 W7QTM", &two],
        &[(4, "NAME: it has no end"), (4, "cannot be exported")],
    );
}
