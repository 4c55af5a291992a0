//! Any bytes as our table: what is read is written and read back the same, and no text begins
//! as a formula does.
#![no_main]

use jumpseat_entries::Contact;
use jumpseat_formats::{LogFileReading, table_csv};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let header = table_csv::write(&[]).expect("a table in memory");
    for bytes in [bytes, &[header.as_bytes(), bytes].concat()] {
        let Some(reading) = table_csv::read(bytes) else {
            continue;
        };
        let contacts = contacts(reading);
        let once = table_csv::write(&contacts).expect("a table in memory");
        for cell in once.lines().skip(1).flat_map(|line| line.split(',')) {
            let cell = cell.trim_start_matches('"');
            assert!(
                !cell.starts_with(['=', '+', '@']) || once.contains('"'),
                "{once}"
            );
        }
        let read = table_csv::read(once.as_bytes()).expect("our own table");
        let twice = table_csv::write(&self::contacts(read)).expect("a table in memory");
        assert_eq!(once, twice);
    }
});

fn contacts(reading: LogFileReading) -> Vec<Contact> {
    reading
        .records
        .into_iter()
        .map(|told| told.contact)
        .collect()
}
