//! Locators against the library maidenhead, and against published examples.

use jumpseat_place::locator;
use jumpseat_simulator::gps::locator::locator as simulators_own;
use jumpseat_simulator::random::SeededRandom;
use jumpseat_simulator::scenario::TruePosition;

use crate::reference::reference;

/// The library rounds to the nearest 4320th of a degree of latitude and 2160th
/// of longitude before it cuts, so it may differ this close below an edge.
const LIBRARY_LAT: f64 = 0.5 / 4320.0;
const LIBRARY_LON: f64 = 0.5 / 2160.0;

#[test]
fn ten_thousand_points_have_the_locator_of_the_reference_library() {
    let mut random = SeededRandom::stream(1, "points");
    let points: Vec<TruePosition> = (0..10_000)
        .map(|_| TruePosition {
            lat: random.between(-89.99, 89.99),
            lon: random.between(-179.99, 179.99),
        })
        .collect();
    let lines: Vec<String> = points
        .iter()
        .map(|at| format!("{} {}\n", at.lat, at.lon))
        .collect();
    let told = reference("locators.py", &lines.concat());
    let told: Vec<&str> = told.lines().collect();
    assert_eq!(told.len(), points.len());
    let mut at_an_edge = 0;
    for (at, told) in points.iter().zip(told) {
        let ours = locator::encode(at.lat, at.lon, 3).unwrap();
        assert_eq!(
            ours.to_lowercase(),
            simulators_own(*at).to_lowercase(),
            "{at:?}"
        );
        if ours.to_lowercase() != told.to_lowercase() {
            let cell = locator::decode(&ours).unwrap();
            let close = cell.north() - at.lat <= LIBRARY_LAT || cell.east() - at.lon <= LIBRARY_LON;
            assert!(close, "{at:?}: {ours}, the library says {told}");
            at_an_edge += 1;
        }
    }
    // Each axis rounds up in 0.5 of 180 cases: 56 of 10,000 are expected.
    assert!(at_an_edge < 150, "{at_an_edge} of 10,000 differ");
    println!(
        "figure: locators: {} of 10,000 equal to maidenhead 1.8.0, {at_an_edge} within its rounding of an edge",
        10_000 - at_an_edge
    );
}

/// "Conversion between geodetic and grid locator systems", QST, January 1989
/// (Munich), and the headquarters station W1AW as its own page states it.
#[test]
fn published_examples() {
    for (lat, lon, expected) in [
        (48.146_66, 11.608_33, "JN58td"),
        (41.714_775, -72.727_260, "FN31pr"),
    ] {
        let ours = locator::encode(lat, lon, 3).unwrap();
        assert_eq!(ours.to_lowercase(), expected.to_lowercase());
        println!("figure: locators: {lat}, {lon} is {ours} as published");
    }
}
