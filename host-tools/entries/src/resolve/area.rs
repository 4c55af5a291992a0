//! The administrative area of a contact made on the move.

use jumpseat_place::area;
use jumpseat_values::{AreaDoubt, Doubt, Estimate, Position};

use crate::area::AdministrativeArea;

/// The own area during a contact.
#[derive(Debug, Clone, PartialEq)]
pub struct AreaCrossing {
    /// Where it began.
    pub start: Estimate<AdministrativeArea>,
    /// Where it ended, if that is another area.
    pub end: Option<AdministrativeArea>,
    /// What a person should know where they differ.
    pub doubts: Vec<Doubt>,
}

/// The areas of the places where a contact began and ended. An uncertain place has no
/// certain area: its doubts are those of the area too.
pub fn area_crossing(start: &Estimate<Position>, end: &Estimate<Position>) -> AreaCrossing {
    let (from, to) = (look(start), look(end));
    let changed = match (&from.value, &to.value) {
        (Some(from), Some(to)) if from != to => Some((from.name.clone(), to.clone())),
        _ => None,
    };
    let mut doubts = Vec::new();
    if let Some((from, to)) = &changed {
        let (from, to) = (from.clone(), to.name.clone());
        doubts.push(AreaDoubt::Crossed { from, to }.into());
    }
    AreaCrossing {
        start: from,
        end: changed.map(|(_, to)| to),
        doubts,
    }
}

fn look(estimate: &Estimate<Position>) -> Estimate<AdministrativeArea> {
    let Some(position) = estimate.value else {
        return Estimate::new(None, estimate.doubts.clone());
    };
    let found = area::area_of(position);
    let doubts = [&estimate.doubts[..], &found.doubts].concat();
    Estimate::new(found.value.map(|area| words(&area)), doubts)
}

/// The area as people call it and as the ADIF specification does.
fn words(area: &area::Area) -> AdministrativeArea {
    let Some(county) = area.county else {
        // Several entities of the specification may lie in one country, and
        // their names are not those of our map: nothing is guessed.
        return AdministrativeArea {
            name: area.to_string(),
            short: area.country.name.to_owned(),
            ..AdministrativeArea::default()
        };
    };
    let postal = county.state.postal;
    let entity = entity(postal);
    // Counties by name are those of the states. In Alaska the specification wants
    // boroughs of its own list, and it has no value for cities outside any county.
    let is_state = matches!(entity, Some((291 | 6 | 110, _)));
    let has_counties = is_state && !matches!(postal, "AK" | "DC") && !county.is_independent_city();
    AdministrativeArea {
        name: area.to_string(),
        short: format!("{}, {postal}", county.name),
        dxcc: entity.map(|(number, _)| number),
        country: entity.map(|(_, name)| name.to_owned()),
        state: is_state.then(|| postal.to_owned()),
        county: has_counties.then(|| format!("{postal},{}", county.name)),
    }
}

/// ADIF 3.1.6, enumeration `DXCC_Entity_Code`, for the states and territories of
/// our map. American Samoa is left out: two entities lie in it.
fn entity(postal: &str) -> Option<(u16, &'static str)> {
    Some(match postal {
        "AK" => (6, "ALASKA"),
        "HI" => (110, "HAWAII"),
        "GU" => (103, "GUAM"),
        "MP" => (166, "MARIANA IS."),
        "PR" => (202, "PUERTO RICO"),
        "VI" => (285, "VIRGIN IS."),
        "AS" => return None,
        _ => (291, "UNITED STATES OF AMERICA"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use jumpseat_values::PlaceDoubt;

    fn at(lat: f64, lon: f64) -> Estimate<Position> {
        Estimate::new(Position::new(lat, lon), Vec::new())
    }

    #[track_caller]
    fn check(lat: f64, lon: f64, short: &str, dxcc: Option<u16>, state: &str, county: &str) {
        let crossed = area_crossing(&at(lat, lon), &at(lat, lon));
        let area = crossed.start.value.unwrap();
        assert_eq!(area.short, short);
        assert_eq!(area.dxcc, dxcc);
        assert_eq!(area.state.unwrap_or_default(), state);
        assert_eq!(area.county.unwrap_or_default(), county);
        assert_eq!((crossed.end, crossed.doubts), (None, Vec::new()));
    }

    #[test]
    fn places_in_the_words_of_the_specification() {
        // Well inside: Rock Springs, Denver, Anchorage, Richmond, San Juan, Prague.
        check(
            41.587,
            -109.203,
            "Sweetwater, WY",
            Some(291),
            "WY",
            "WY,Sweetwater",
        );
        check(39.739, -104.985, "Denver, CO", Some(291), "CO", "CO,Denver");
        check(61.218, -149.900, "Anchorage, AK", Some(6), "AK", "");
        check(37.541, -77.436, "Richmond, VA", Some(291), "VA", "");
        check(18.400, -66.064, "San Juan, PR", Some(202), "", "");
        check(50.08, 14.42, "Czechia", None, "", "");
    }

    #[test]
    fn a_border_that_was_crossed_is_a_doubt() {
        let crossed = area_crossing(&at(41.587, -109.203), &at(39.739, -104.985));
        assert_eq!(crossed.end.unwrap().short, "Denver, CO");
        assert!(matches!(
            crossed.doubts[..],
            [Doubt::Area(AreaDoubt::Crossed { .. })]
        ));
    }

    #[test]
    fn no_place_and_an_uncertain_place() {
        let far = Doubt::from(PlaceDoubt::AfterLastFix { away_s: 600 });
        let mut nowhere = at(41.587, -109.203);
        nowhere.doubts.push(far.clone());
        let crossed = area_crossing(&nowhere, &nowhere);
        assert_eq!(crossed.start.doubts, [far]);
        nowhere.value = None;
        assert_eq!(area_crossing(&nowhere, &nowhere).start.value, None);
    }
}
