//! Any bytes as the map of areas: refused, or read into no more than they hold.
#![no_main]

use jumpseat_place::area::AreaMap;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    if let Ok(map) = AreaMap::read(bytes) {
        let held: usize = map
            .layers
            .iter()
            .map(|layer| layer.areas.len() + layer.source.len())
            .sum();
        assert!(held <= bytes.len());
    }
});
