//! Any bytes as a trip.json: what is read is written and read back the same.
#![no_main]

use jumpseat_trip::{FORMAT, Header};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(header) = Header::parse(bytes) else {
        return;
    };
    assert_eq!(header.format, FORMAT);
    let again = serde_json::to_vec(&header).expect("a header in memory");
    assert_eq!(Header::parse(&again).expect("our own trip.json"), header);
});
