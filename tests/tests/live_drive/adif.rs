//! The exported file as another program reads it, field by field, against the truth.

use std::collections::BTreeMap;
use std::path::Path;

use chrono::{DateTime, TimeDelta, Utc};
use jumpseat_simulator::truth::{DriveTruth, TrueContact};
use jumpseat_test_kit::{done, outside_script};
use serde::Deserialize;
use serde_json::Value;

#[derive(Debug, Deserialize)]
struct ReferenceAdif {
    header: BTreeMap<String, Value>,
    records: Vec<BTreeMap<String, Value>>,
}

/// Reads the file by adif-io (PyPI) and compares every field.
pub(crate) fn check(name: &str, file: &Path, truth: &DriveTruth) {
    let read = done(outside_script("adif.py").unwrap().arg(file)).unwrap();
    let read: ReferenceAdif = serde_json::from_str(&read).unwrap();
    let version = read.header.get("ADIF_VER").and_then(Value::as_str);
    assert!(
        version.is_some_and(|version| version.starts_with("3.1.")),
        "{:?}",
        read.header
    );
    assert_eq!(read.records.len(), truth.contacts.len());
    let mut fields = 0;
    for (record, contact) in read.records.iter().zip(&truth.contacts) {
        fields += check_record(record, contact, truth);
    }
    println!(
        "figure: {name}: {fields} fields of {} exported contacts read back by adif-io 0.6.1 as they were",
        read.records.len()
    );
}

fn check_record(
    record: &BTreeMap<String, Value>,
    contact: &TrueContact,
    truth: &DriveTruth,
) -> usize {
    let text = |field: &str| {
        record
            .get(field)
            .and_then(Value::as_str)
            .unwrap_or_default()
            .to_owned()
    };
    let (band, mode, submode) = match (contact.hz / 1_000_000, contact.mode.as_str()) {
        (14, "USB") => ("20m", "SSB", "USB"),
        (146, "FM") => ("2m", "FM", ""),
        other => panic!("a contact that the test does not know: {other:?}"),
    };
    let expected = [
        ("CALL", contact.call.as_str()),
        ("BAND", band),
        ("MODE", mode),
        ("SUBMODE", submode),
        ("RST_SENT", contact.sent.as_deref().unwrap_or_default()),
        ("RST_RCVD", contact.received.as_deref().unwrap_or_default()),
        ("NAME", contact.name.as_deref().unwrap_or_default()),
        ("OPERATOR", &truth.station.operator),
        ("STATION_CALLSIGN", &truth.station.call),
    ];
    for (field, value) in expected {
        assert_eq!(text(field), value, "{field} of {record:?}");
    }
    assert_eq!(
        text("MY_GRIDSQUARE").to_lowercase(),
        contact.locator.to_lowercase()
    );
    let mhz: f64 = text("FREQ").parse().unwrap();
    assert_eq!((mhz * 1e6).round() as u64, contact.hz);
    // A file has whole seconds, so half of one more than a draft.
    let start = truth.start().unwrap();
    for (field, true_s) in [("_on", contact.on_s), ("_off", contact.off_s)] {
        let read: DateTime<Utc> = text(field).parse().unwrap();
        let true_utc = start + TimeDelta::milliseconds((true_s * 1e3) as i64);
        let late_ms = (read - true_utc).num_milliseconds();
        assert!(
            late_ms.abs() <= 1_500,
            "{field} {late_ms} ms late in {record:?}"
        );
    }
    // Degrees as the library computes them: a hundredth of a minute is 18 m.
    for (field, true_degrees) in [("_my_lat", contact.lat), ("_my_lon", contact.lon)] {
        let degrees = record.get(field).and_then(Value::as_f64).unwrap();
        assert!(
            (degrees - true_degrees).abs() < 1e-3,
            "{field} {degrees}, not {true_degrees}"
        );
    }
    expected.len() + 6
}
