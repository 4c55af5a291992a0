use chrono::DateTime;

use super::*;
use proptest::prelude::*;

/// A column never moves and never changes its name; new ones come at the end.
const HEADER: &str = "start_utc,end_utc,call,frequency_mhz,band,mode,submode,report_sent,\
     report_received,name,comment,station,operator,locator,latitude,longitude,area,country,state,\
     county,receive_frequency_mhz,qth,their_locator,sig,sig_info,my_sig,my_sig_info,area_end,dxcc";

#[track_caller]
fn check(contact: Contact, expected: &str) {
    let text = write(std::slice::from_ref(&contact)).unwrap();
    let (header, row) = text.split_once("\r\n").unwrap();
    assert_eq!(header, HEADER);
    // The columns behind those of the first version are empty.
    let rest = ",".repeat(header.split(',').count() - 20);
    assert_eq!(row, format!("{expected}{rest}\r\n"));
}

#[test]
fn a_row_a_contact() {
    check(
        Contact {
            call: "KB0QSE".into(),
            ..Contact::default()
        },
        ",,KB0QSE,,,,,,,,,,,,,,,,,",
    );
    check(
        Contact {
            call: "KB0QSE/M".into(),
            on: Some("2026-05-14T23:59:59.600Z".parse().unwrap()),
            hz: Some(14_287_500),
            name: Some("Ruth, \"R\"".into()),
            comment: Some("at the\npass".into()),
            lat: Some(41.5),
            lon: Some(f64::NAN),
            ..Contact::default()
        },
        "2026-05-15T00:00:00Z,,KB0QSE/M,14.2875,,,,,,\"Ruth, \"\"R\"\"\",\"at the\npass\",\
         ,,,41.500000,,,,,",
    );
}

#[test]
fn no_text_is_a_formula_and_every_text_is_read_back() {
    for (text, written) in [
        ("=1+1", "'=1+1"),
        ("+59", "'+59"),
        ("-12", "'-12"),
        ("@home", "'@home"),
        ("'=1", "''=1"),
        ("'tis", "'tis"),
        ("Ruth", "Ruth"),
        ("", ""),
    ] {
        assert_eq!(harmless(text), written);
        assert_eq!(as_it_was(written), text);
    }
}

#[track_caller]
fn complains(text: &str, calls: &[&str], complaints: &[(usize, &str)]) {
    let reading = read(text.as_bytes()).unwrap();
    let found: Vec<&str> = reading
        .records
        .iter()
        .map(|told| told.contact.call.as_str())
        .collect();
    assert_eq!(found, calls);
    let said = reading.complaints.kept();
    assert_eq!(said.len(), complaints.len(), "{said:?}");
    for (complaint, (line, part)) in said.iter().zip(complaints) {
        assert_eq!(complaint.line, *line, "{complaint:?}");
        assert!(complaint.reason.contains(part), "{complaint:?}");
    }
}

#[test]
fn tables_as_spreadsheets_leave_them() {
    complains(
        "start_utc;call\n2026-05-14T15:04Z;KB0QSE\n",
        &["KB0QSE"],
        &[],
    );
    complains(
        "\u{feff}call,start_utc,colour,latitude\nKB0QSE,2026-05-14T15:04:27Z,blue,91\n\n,,,\nK1QRM,x\n",
        &["KB0QSE", "K1QRM"],
        &[
            (1, "column 'colour' is not known"),
            (2, "latitude: '91'"),
            (4, "without a call sign"),
            (5, "start_utc: 'x'"),
            (5, "cannot be exported"),
        ],
    );
    // Cells that moved to other columns, and rows that vanished in a cell.
    complains(
        "call,start_utc,name\nKB0QSE,2026-05-14T15:04Z,Ruth, the second\nK1QRM,2026-05-14T15:04Z,Bo,,\n",
        &["K1QRM"],
        &[(2, "it has 4 cells for 3 columns")],
    );
    complains(
        "call,start_utc,name,comment\nKB0QSE,2026-05-14T15:04Z,\"Ruth\nK1QRM,2026-05-14T15:04Z,Bo,\n",
        &[],
        &[(2, "a quotation mark is not closed")],
    );
    assert!(read(b"a letter to the editor").is_none());
    assert!(read(b"").is_none());
}

proptest! {
    #[test]
    fn a_table_reads_back(
        words in prop::collection::vec("([=+@'-]{0,3}[\\PC\n]{0,12})", 8),
        hz in prop::option::of(1_u64..300_000_000_000),
        seconds in 0_i64..4_000_000_000,
        lat in -90.0_f64..90.0,
    ) {
        let some = |index: usize| {
            let text = words[index].trim().replace('\r', "");
            Some(text).filter(|text| !text.is_empty())
        };
        let contact = Contact {
            call: "KB0QSE".into(),
            on: DateTime::from_timestamp(seconds, 0),
            hz,
            name: some(0),
            comment: some(1),
            qth: some(2),
            sent: some(3),
            sig: some(4),
            my_sig_info: some(5),
            received: some(6),
            lat: Some((lat * 1e6).round() / 1e6),
            ..Contact::default()
        };
        let text = write(std::slice::from_ref(&contact)).unwrap();
        let reading = read(text.as_bytes()).unwrap();
        prop_assert_eq!(reading.complaints.count(), 0);
        prop_assert_eq!(&reading.records[0].contact, &contact);
    }
}
