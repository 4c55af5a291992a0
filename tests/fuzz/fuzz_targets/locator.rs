//! Any text as a locator, any two numbers as a position: a cell's middle has the locator of
//! the cell, and a position lies in the cell of its locator. Two cells are a leg apart.
#![no_main]

use jumpseat_place::{area, geodesic, locator, position::Position};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|input: (&str, f64, f64, u8)| {
    let (text, lat, lon, pairs) = input;
    let cell = locator::decode(text);
    if let Ok(cell) = &cell {
        let (middle_lat, middle_lon) = cell.centre();
        let again = locator::encode(middle_lat, middle_lon, text.len() / 2);
        assert!(again.is_ok_and(|again| again.eq_ignore_ascii_case(text)), "{text}");
    }
    let here = locator::encode(lat, lon, usize::from(pairs));
    if let Ok(here) = &here {
        // the poles and the 180th meridian have their cells by rule, not by containing
        let cell = locator::decode(here).expect("what is written can be read");
        assert!(lat == 90.0 || lon == 180.0 || cell.contains(lat, lon), "{lat} {lon} {here}");
    }
    if let (Ok(_), Ok(here)) = (cell, here) {
        let leg = geodesic::between_locators(text, &here).expect("both were read");
        assert!((0.0..20_004_000.0).contains(&leg.metres) && (0.0..360.0).contains(&leg.bearing));
    }
    if let Some(position) = Position::new(lat, lon) {
        let estimate = area::at(position);
        assert!(estimate.value.is_some() || !estimate.doubts.is_empty());
    }
});
