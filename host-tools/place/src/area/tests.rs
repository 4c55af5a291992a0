use proptest::prelude::*;

use super::*;
use jumpseat_values::Doubt;

fn at_degrees(lat: f64, lon: f64) -> Estimate<Area> {
    area_of(Position::new(lat, lon).unwrap())
}

/// A position well inside an area.
#[track_caller]
fn check(lat: f64, lon: f64, expected: &str) {
    let estimate = at_degrees(lat, lon);
    assert_eq!(
        estimate.value.map(|area| area.to_string()).as_deref(),
        Some(expected)
    );
    assert_eq!(estimate.doubts, []);
}

#[test]
fn counties_and_what_stands_for_them() {
    check(37.35, -121.95, "Santa Clara County, California");
    check(29.97, -90.05, "Orleans Parish, Louisiana");
    check(39.30, -76.61, "Baltimore City, Maryland");
    check(39.155, -119.74, "Carson City, Nevada");
    check(40.78, -73.97, "New York County, New York");
    check(64.84, -147.0, "Fairbanks North Star, Alaska");
    check(21.45, -158.0, "Honolulu County, Hawaii");
    check(18.22, -66.30, "Barranquitas Municipio, Puerto Rico");
    check(41.77, -72.68, "Hartford County, Connecticut");
}

#[test]
fn countries_elsewhere() {
    check(50.45, -104.6, "Canada");
    check(52.52, 13.40, "Germany");
    check(-25.3, 131.0, "Australia");
    check(-29.6, 28.2, "Lesotho"); // a hole in South Africa
    check(-17.8, 177.9, "Fiji");
    check(67.0, 179.5, "Russia"); // on both sides of the 180th meridian
    check(67.0, -179.5, "Russia");
    check(-80.0, 0.0, "Antarctica");
    check(-90.0, 0.0, "Antarctica"); // beyond the last border to the south
}

#[test]
fn at_sea_there_is_none() {
    for (lat, lon) in [
        (0.0, -30.0),
        (90.0, 0.0),
        (30.0, -50.0),
        (0.0, 180.0),
        (-61.5, 100.0),
    ] {
        let estimate = at_degrees(lat, lon);
        assert_eq!(
            estimate,
            Estimate::unknown(AreaDoubt::Nowhere),
            "{lat} {lon}"
        );
    }
}

/// A doubt that names both sides, in this order.
#[track_caller]
fn check_border(lat: f64, lon: f64, here: &str, there: &str) {
    let estimate = at_degrees(lat, lon);
    let named = estimate.doubts.iter().any(|doubt| {
        matches!(doubt, Doubt::Area(AreaDoubt::NearBorder { here: a, there: b, .. })
            if a == here && b == there)
    });
    assert!(named, "{estimate:?}");
    assert_eq!(estimate.value.unwrap().to_string(), here);
}

#[test]
fn near_a_border_both_sides_are_named() {
    // the 45th and the 49th parallel; 0.004 degrees are about 450 m
    check_border(
        45.004,
        -104.7,
        "Carter County, Montana",
        "Crook County, Wyoming",
    );
    check_border(
        44.996,
        -104.7,
        "Crook County, Wyoming",
        "Carter County, Montana",
    );
    check_border(48.995, -110.0, "Hill County, Montana", "Canada");
    check_border(49.005, -110.0, "Canada", "Hill County, Montana");
    check_border(47.56, 7.60, "Switzerland", "Germany");
}

/// Too small for the map's grid, these hold no position; near them there is a doubt.
#[test]
fn areas_lost_to_the_grid_are_named() {
    check_border(
        38.882,
        -77.171,
        "Fairfax County, Virginia",
        "Falls Church City, Virginia",
    );
    check_border(41.902, 12.453, "Italy", "Vatican");
}

#[test]
fn three_areas_meet() {
    // Four Corners: 37 N, 109 deg 2 min 43 s W
    let estimate = at_degrees(36.9990, -109.0452);
    assert!(estimate.doubts.len() >= 3, "{estimate:?}");
}

#[test]
fn off_the_shore_the_nearest_is_taken() {
    let pier = at_degrees(33.6545, -118.0085);
    assert_eq!(pier.value.unwrap().to_string(), "Orange County, California");
    assert!(
        matches!(pier.doubts[0], Doubt::Area(AreaDoubt::OffTheEdge { .. })),
        "{pier:?}"
    );
    // the Overseas Highway on Seven Mile Bridge
    let bridge = at_degrees(24.695, -81.17);
    assert_eq!(bridge.value.unwrap().to_string(), "Monroe County, Florida");
    let lake = at_degrees(43.5, -87.0);
    assert_eq!(lake.value.unwrap().to_string(), "United States of America");
    assert_eq!(lake.doubts, [AreaDoubt::NoCounty.into()]);
}

#[test]
fn a_span_tells_its_end_only_when_it_differs() {
    let point = |lat, lon| Position::new(lat, lon).unwrap();
    let moved = over_span(point(37.35, -121.95), point(37.65, -121.9));
    assert_eq!(moved.start.value.unwrap().county.unwrap().fips, "06085");
    assert_eq!(
        moved.end.unwrap().value.unwrap().county.unwrap().fips,
        "06001"
    );
    assert_eq!(
        over_span(point(37.35, -121.95), point(37.36, -121.96)).end,
        None
    );
}

#[test]
fn the_map_says_where_it_is_from() {
    let tolerances: Vec<u32> = sources().iter().map(|layer| layer.tolerance_m).collect();
    assert_eq!(tolerances, [1500, 2500]);
    assert!(
        sources()
            .iter()
            .all(|layer| layer.licence.contains("public domain") && !layer.source.is_empty())
    );
    assert_eq!(sources()[0].areas.len(), 3231);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn anywhere_there_is_an_area_or_a_doubt(lat in -90.0..=90.0f64, lon in -180.0..=180.0f64) {
        let estimate = at_degrees(lat, lon);
        prop_assert!(estimate.value.is_some() || !estimate.doubts.is_empty());
        for doubt in &estimate.doubts {
            if let Doubt::Area(AreaDoubt::NearBorder { here, there, metres, tolerance_m }) = doubt {
                prop_assert!(here != there && metres.value() <= f64::from(*tolerance_m) + 5556.0);
            }
        }
    }

    #[test]
    fn damaged_maps_are_refused_not_followed(cut in 0usize..5000, bit in 0usize..40_000) {
        let whole: &[u8] = include_bytes!("../../data/areas.bin");
        prop_assert!(AreaMap::read(&whole[..cut]).is_err());
        let mut flipped = whole[..6000].to_vec();
        flipped[bit / 8] ^= 1 << (bit % 8);
        prop_assert!(AreaMap::read(&flipped).is_err());
    }
}
