//! Any text as an ADX file: what is read is written and read back the same, every character.
#![no_main]

use chrono::DateTime;
use jumpseat_entries::Contact;
use jumpseat_formats::{LogFileReading, adif};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let contacts = contacts(adif::read(format!("<ADX>{text}").as_bytes()));
    let once = adif::write_adx(&contacts, "P", "1", DateTime::UNIX_EPOCH).text;
    let read = adif::read(once.as_bytes());
    assert_eq!(read.complaints.kept(), [], "{once}");
    let again = self::contacts(read);
    let twice = adif::write_adx(&again, "P", "1", DateTime::UNIX_EPOCH).text;
    assert_eq!(once, twice);
    let written = contacts
        .iter()
        .filter(|contact| adif::exportable(contact).is_ok());
    for (before, after) in written.zip(&again) {
        let seen = |text: &Option<String>| text.as_deref().map(|text| text.trim().to_owned());
        assert_eq!(seen(&before.name), after.name);
        assert_eq!(seen(&before.comment), after.comment);
    }
});

fn contacts(reading: LogFileReading) -> Vec<Contact> {
    reading
        .records
        .into_iter()
        .map(|told| told.contact)
        .collect()
}
