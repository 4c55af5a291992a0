//! Puts the two layers together: counties are drawn finer, so they decide where they are.

use super::county::{Area, Country, County};
use super::map::{MapEntry, MapLayer};
use super::states;
use jumpseat_values::{AreaDoubt, Doubt, Estimate, Position, Rounded};

/// The two layers of the map.
pub(super) struct LayerPair {
    pub(super) counties: &'static MapLayer<'static>,
    pub(super) countries: &'static MapLayer<'static>,
}

/// An area that is near enough to hold a position in truth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NearbyArea {
    /// The area.
    pub area: Area,
    /// Distance to its border in metres.
    pub metres: f64,
    /// How far that border may lie from the true one, in metres.
    pub tolerance_m: u32,
}

/// Where a position is, and what else comes into question.
#[derive(Debug, Default)]
pub(super) struct LocatedArea {
    value: Option<Area>,
    /// The value is the nearest area, and holds the position only beyond its edge.
    off_the_edge: Option<NearbyArea>,
    /// Other areas that may hold it.
    pub(super) rivals: Vec<NearbyArea>,
    /// Why there is no county, or no area at all.
    missing: Option<AreaDoubt>,
}

impl LocatedArea {
    pub(super) fn estimate(self) -> Estimate<Area> {
        let off_the_edge = self.off_the_edge.map(|nearest| AreaDoubt::OffTheEdge {
            nearest: nearest.area.to_string(),
            metres: Rounded::new(nearest.metres),
            tolerance_m: nearest.tolerance_m,
        });
        let near_border = self.value.into_iter().flat_map(|here| {
            self.rivals.iter().map(move |rival| AreaDoubt::NearBorder {
                here: here.to_string(),
                there: rival.area.to_string(),
                metres: Rounded::new(rival.metres),
                tolerance_m: rival.tolerance_m,
            })
        });
        let doubts = off_the_edge
            .into_iter()
            .chain(near_border)
            .chain(self.missing);
        Estimate::new(self.value, doubts.map(Doubt::from).collect())
    }
}

/// How far off the shore a position still counts to the nearest area, in metres: three
/// nautical miles, the reach of most states' waters (Submerged Lands Act 1953; from memory).
/// Bridges, causeways and ferries lie here.
const OFF_SHORE_M: f64 = 5556.0;

impl LayerPair {
    pub(super) fn locate(&self, position: Position) -> LocatedArea {
        let county = self.counties.area_at(position);
        let near = self
            .counties
            .near(position, county, reach(self.counties, county));
        let at_edge = county == 0 || near.iter().any(|near| near.area == 0);
        let mut others: Vec<NearbyArea> = near
            .iter()
            .filter_map(|near| candidate(self.county(near.area), near.metres, self.counties))
            .collect();
        let country = if at_edge {
            self.country_candidates(position, &mut others)
        } else {
            None
        };
        others.sort_by(|a, b| a.metres.total_cmp(&b.metres));
        match (self.county(county), country) {
            (Some(here), _) => inside(here, others),
            (None, Some(here)) if !has_counties(here.country) => inside(here, others),
            (None, country) => outside(country, others),
        }
    }

    /// The country that holds the position; those that hold it or are near join `others`,
    /// save the United States, whose counties are there already.
    fn country_candidates(&self, position: Position, others: &mut Vec<NearbyArea>) -> Option<Area> {
        let number = self.countries.area_at(position);
        let near = self
            .countries
            .near(position, number, reach(self.countries, number));
        let held =
            std::iter::once((number, 0.0)).chain(near.iter().map(|near| (near.area, near.metres)));
        others.extend(held.filter_map(|(number, metres)| {
            candidate(
                self.country(number)
                    .filter(|area| !has_counties(area.country)),
                metres,
                self.countries,
            )
        }));
        self.country(number)
    }

    fn county(&self, number: u32) -> Option<Area> {
        let MapEntry { code: fips, name } = *entry(self.counties, number)?;
        let state = states::by_fips(fips.get(..2)?)?;
        let country = self
            .countries
            .areas
            .iter()
            .find(|country| country.code == state.iso)?;
        Some(Area {
            country: as_country(country),
            county: Some(County { name, fips, state }),
        })
    }

    fn country(&self, number: u32) -> Option<Area> {
        Some(Area {
            country: as_country(entry(self.countries, number)?),
            county: None,
        })
    }
}

/// A position that an area holds: in doubt where a border is nearer than it is exact.
fn inside(here: Area, mut others: Vec<NearbyArea>) -> LocatedArea {
    others.retain(|other| other.area != here && other.metres <= f64::from(other.tolerance_m));
    LocatedArea {
        value: Some(here),
        rivals: others,
        ..LocatedArea::default()
    }
}

/// A position in no county and no other country: the nearest of `others`, if any, in doubt
/// against those that may be as near. `united_states` when it is in theirs at least.
fn outside(united_states: Option<Area>, mut others: Vec<NearbyArea>) -> LocatedArea {
    let fits = |other: &NearbyArea| united_states.is_none() || other.area.county.is_some();
    let Some(at) = others.iter().position(fits) else {
        return LocatedArea {
            value: united_states,
            missing: Some(match united_states {
                Some(_) => AreaDoubt::NoCounty,
                None => AreaDoubt::Nowhere,
            }),
            ..LocatedArea::default()
        };
    };
    let nearest = others.remove(at);
    others.retain(|other| other.metres <= nearest.metres + f64::from(other.tolerance_m));
    LocatedArea {
        value: Some(nearest.area),
        off_the_edge: Some(nearest),
        rivals: others,
        missing: None,
    }
}

fn candidate(area: Option<Area>, metres: f64, layer: &MapLayer<'_>) -> Option<NearbyArea> {
    Some(NearbyArea {
        area: area?,
        metres,
        tolerance_m: layer.tolerance_m,
    })
}

/// How far to look for other areas: further from where there is none.
fn reach(layer: &MapLayer<'_>, own: u32) -> f64 {
    let tolerance = f64::from(layer.tolerance_m);
    if own == 0 {
        tolerance.max(OFF_SHORE_M)
    } else {
        tolerance
    }
}

fn entry<'a>(layer: &'a MapLayer<'static>, number: u32) -> Option<&'a MapEntry<'static>> {
    layer.areas.get((number as usize).checked_sub(1)?)
}

fn as_country(entry: &MapEntry<'static>) -> Country {
    Country {
        name: entry.name,
        iso: (!entry.code.is_empty()).then_some(entry.code),
    }
}

/// Whether the counties layer covers this country or territory.
fn has_counties(country: Country) -> bool {
    country.iso.is_some_and(states::any_with_iso)
}
