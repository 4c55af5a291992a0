//! ADIF both ways with another library: what adif-io (PyPI) writes from random
//! records is what we read, and what we write is what it reads.

use std::collections::BTreeMap;
use std::fs;

use jumpseat_test_kit::{done, outside_script};
use serde_json::Value;

use crate::logbook::ReferenceLogbook;

type AdifFields = BTreeMap<String, String>;

const COUNT: usize = 2000;

/// A contact by call sign, date and time, in the words of a record.
fn key(fields: &AdifFields) -> String {
    [&fields["CALL"], &fields["QSO_DATE"], &fields["TIME_ON"]]
        .map(String::as_str)
        .join(" ")
}

fn key_of(contact: &Value) -> String {
    let on = contact["on"].as_str().unwrap();
    let whole = contact["whole_minutes"].as_bool().unwrap_or_default();
    let time = on[11..if whole { 16 } else { 19 }].replace(':', "");
    format!(
        "{} {} {time}",
        contact["call"].as_str().unwrap(),
        on[..10].replace('-', "")
    )
}

/// A field as our logbook has it.
fn ours(contact: &Value, name: &str) -> Option<String> {
    let text = |key: &str| contact[key].as_str().map(str::to_owned);
    match name {
        "BAND" => text("band"),
        "MODE" => text("mode"),
        "RST_SENT" => text("sent"),
        "NAME" => text("name"),
        "COMMENT" => text("comment"),
        "QTH" => text("qth"),
        "FREQ" => contact["hz"].as_u64().map(|hz| hz.to_string()),
        "MY_LAT" => contact["lat"].as_f64().map(|degrees| degrees.to_string()),
        "MY_LON" => contact["lon"].as_f64().map(|degrees| degrees.to_string()),
        _ => {
            let more = contact["more"].as_array()?;
            let found = more.iter().find(|extra| extra["name"] == name)?;
            found["value"].as_str().map(str::to_owned)
        }
    }
}

fn degrees(location: &str) -> f64 {
    let (whole, minutes) = location[1..].split_once(' ').unwrap();
    let degrees = whole.parse::<f64>().unwrap() + minutes.parse::<f64>().unwrap() / 60.0;
    if location.starts_with(['S', 'W']) {
        -degrees
    } else {
        degrees
    }
}

fn is_same(name: &str, theirs: &str, ours: &str) -> bool {
    match name {
        "FREQ" => (theirs.parse::<f64>().unwrap() * 1e6 - ours.parse::<f64>().unwrap()).abs() < 0.5,
        "MY_LAT" | "MY_LON" => (degrees(theirs) - ours.parse::<f64>().unwrap()).abs() < 1e-6,
        "BAND" => theirs.to_lowercase() == ours,
        _ => theirs == ours,
    }
}

#[test]
fn what_another_library_writes_and_reads_is_the_same_to_us() {
    let book = ReferenceLogbook::random(6, COUNT);
    let told = fs::read_to_string(book.at("random.json")).unwrap();
    let records: Vec<AdifFields> = serde_json::from_str(&told).unwrap();
    let contacts: BTreeMap<String, Value> = book
        .contacts()
        .into_iter()
        .map(|contact| (key_of(&contact), contact))
        .collect();
    assert_eq!((records.len(), contacts.len()), (COUNT, COUNT));
    let again: Value =
        serde_json::from_str(&book.run(&["import", "random.adi", "--json"])).unwrap();
    assert_eq!(again[0]["complaints"], serde_json::json!([]));
    assert_eq!(again[0]["known"], COUNT);

    let (mut fields, mut other) = (0, 0);
    for record in &records {
        let contact = &contacts[&key(record)];
        for (name, value) in record {
            if matches!(name.as_str(), "CALL" | "QSO_DATE" | "TIME_ON") {
                continue;
            }
            let found = ours(contact, name).unwrap_or_default();
            assert!(
                is_same(name, value, &found),
                "{name}: '{value}' became '{found}'"
            );
            fields += 1;
            other += usize::from(!value.is_ascii());
        }
    }
    println!(
        "figure: ADIF from adif-io 0.6.1: {COUNT} of {COUNT} records and {fields} of {fields} \
         fields read as they were written, {other} of them with other characters than ASCII"
    );

    let mut command = outside_script("adif_back.py").unwrap();
    let back = done(command.arg(book.export("adif"))).unwrap();
    let back: Vec<AdifFields> = serde_json::from_str(&back).unwrap();
    assert_eq!(back.len(), COUNT);
    let back: BTreeMap<String, AdifFields> = back
        .into_iter()
        .map(|fields| (key(&fields), fields))
        .collect();
    let (mut same, mut changed, mut ends) = (0, 0, 0);
    for record in &records {
        let read = &back[&key(record)];
        for (name, value) in record {
            let found = read.get(name).map(String::as_str).unwrap_or_default();
            // A location is written to the thousandth of a minute, a frequency
            // without needless zeros.
            let alike = match name.as_str() {
                "FREQ" => {
                    (value.parse::<f64>().unwrap() - found.parse::<f64>().unwrap()).abs() < 1e-9
                }
                "BAND" => value.eq_ignore_ascii_case(found),
                _ => value == found,
            };
            // Many readers end a record at this word wherever it stands.
            let ended = value.contains("<eor>");
            let alike = alike || (ended && value.replace("<eor>", "(eor)") == found);
            ends += usize::from(ended && value.is_ascii());
            let plain = value.is_ascii();
            assert!(alike || !plain, "{name}: '{value}' became '{found}'");
            assert!(found.is_ascii());
            same += usize::from(plain);
            changed += usize::from(!plain);
        }
    }
    println!(
        "figure: ADIF to adif-io 0.6.1: {COUNT} of {COUNT} records and {same} of {same} ASCII fields \
         read as they were ({ends} of them with '(eor)' for '<eor>'); {changed} others in their \
         nearest ASCII form"
    );
}
