//! Any bytes as a journal, and any lines with their checksum set right, which gets behind it:
//! records that are read are written and read back the same.
#![no_main]

use std::path::Path;

use crc::{CRC_32_ISCSI, Crc};
use jumpseat_core::journal::encode;
use jumpseat_trip::parse_journal;
use libfuzzer_sys::fuzz_target;

const CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISCSI);

fuzz_target!(|bytes: &[u8]| {
    let path = Path::new("journal.jsonl");
    parse_journal(path, bytes, None);
    let mut framed = Vec::new();
    for line in bytes.split(|&byte| byte == b'\n') {
        framed.extend_from_slice(line);
        framed.extend_from_slice(format!(" {:08x}\n", CRC.checksum(line)).as_bytes());
    }
    let journal = parse_journal(path, &framed, None);
    assert!(journal.damage.len() <= 10_001);
    let mut again = Vec::new();
    for record in &journal.records {
        // What is read may be longer than what a board writes.
        let Ok(line) = encode(record) else { return };
        again.extend_from_slice(&line);
    }
    let read = parse_journal(path, &again, None);
    assert_eq!(read.records, journal.records);
});
