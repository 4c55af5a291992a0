//! Any text as a locator, any two numbers as a position: a cell's middle has the locator of
//! the cell, and a position lies in the cell of its locator. Two cells are a leg apart.
#![no_main]

use jumpseat_place::{area, geodesic, locator};
use jumpseat_values::Position;
use libfuzzer_sys::fuzz_target;

/// A tenth of a millimetre, in degrees.
const EDGE: f64 = 1e-9;

fuzz_target!(|input: (&str, f64, f64, u8)| {
    let (text, lat, lon, pairs) = input;
    let cell = locator::decode(text);
    if let Ok(cell) = &cell {
        let (middle_lat, middle_lon) = cell.centre();
        let again = locator::encode(middle_lat, middle_lon, text.len() / 2);
        assert!(
            again.is_ok_and(|again| again.eq_ignore_ascii_case(text)),
            "{text}"
        );
    }
    let here = locator::encode(lat, lon, usize::from(pairs));
    if let Ok(here) = &here {
        // the 180th meridian has its cell by rule; at an edge, a position and the sums with it
        // may round to different sides, which no receiver resolves
        let cell = locator::decode(here).expect("what is written can be read");
        let inside = |at: f64, from: f64, to: f64| (from - EDGE..=to + EDGE).contains(&at);
        assert!(inside(lat, cell.south, cell.north()), "{lat} {lon} {here}");
        assert!(
            lon == 180.0 || inside(lon, cell.west, cell.east()),
            "{lat} {lon} {here}"
        );
    }
    if let (Ok(_), Ok(here)) = (cell, here) {
        let leg = geodesic::between_locators(text, &here).expect("both were read");
        assert!((0.0..20_004_000.0).contains(&leg.metres) && (0.0..360.0).contains(&leg.bearing));
    }
    if let Some(position) = Position::new(lat, lon) {
        let estimate = area::area_of(position);
        assert!(estimate.value.is_some() || !estimate.doubts.is_empty());
    }
});
