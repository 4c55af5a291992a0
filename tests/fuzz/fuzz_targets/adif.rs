//! Any bytes as an ADIF file: read into no more than they hold, and what was read is written
//! and read back the same.
#![no_main]

use chrono::DateTime;
use jumpseat_entries::Contact;
use jumpseat_formats::{LogFileReading, adif};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let contacts = contacts(adif::read(bytes));
    let held: usize = contacts.iter().map(held).sum();
    assert!(held <= 4 * bytes.len() + 64, "{held} of {}", bytes.len());
    let once = adif::write(&contacts, "P", "1", DateTime::UNIX_EPOCH).text;
    let read = adif::read(once.as_bytes());
    assert_eq!(read.complaints.kept(), [], "{once}");
    let twice = adif::write(&self::contacts(read), "P", "1", DateTime::UNIX_EPOCH).text;
    assert_eq!(once, twice);
});

fn contacts(reading: LogFileReading) -> Vec<Contact> {
    reading
        .records
        .into_iter()
        .map(|told| told.contact)
        .collect()
}

/// Bytes of text; Latin-1 takes twice as many.
fn held(contact: &Contact) -> usize {
    let own = [&contact.name, &contact.comment, &contact.qth, &contact.sig];
    let own: usize = own.into_iter().flatten().map(String::len).sum();
    let more = contact
        .more
        .iter()
        .map(|extra| extra.name.len() + extra.value.len());
    contact.call.len() + own + more.sum::<usize>()
}
