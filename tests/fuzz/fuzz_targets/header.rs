//! Any bytes as a trip.json: what is read is written and read back the same.
#![no_main]

use jumpseat_trip::{TRIP_FORMAT, TripJsonHeader};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(header) = TripJsonHeader::parse(bytes) else {
        return;
    };
    assert_eq!(header.format, TRIP_FORMAT);
    let again = serde_json::to_vec(&header).expect("a header in memory");
    assert_eq!(
        TripJsonHeader::parse(&again).expect("our own trip.json"),
        header
    );
});
