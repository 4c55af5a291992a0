//! Puts the two layers together: counties are drawn finer, so they decide where they are.

use super::map::{Entry, Layer};
use super::{Area, AreaDoubt, AreaEstimate, Country, County, states};
use crate::position::Position;

/// The two layers of the map.
pub(super) struct Layers {
    pub(super) counties: &'static Layer<'static>,
    pub(super) countries: &'static Layer<'static>,
}

/// An area that holds the position or is near enough to hold it in truth.
struct Candidate {
    area: Area,
    metres: f64,
    tolerance_m: u32,
}

impl Layers {
    pub(super) fn at(&self, position: Position) -> AreaEstimate {
        let county = self.counties.area_at(position);
        let tolerance_m = self.counties.tolerance_m;
        let near = self.counties.near(position, county, f64::from(tolerance_m));
        let at_edge = county == 0 || near.iter().any(|near| near.area == 0);
        let mut others: Vec<Candidate> = near
            .iter()
            .filter_map(|near| {
                Some(Candidate {
                    area: self.county(near.area)?,
                    metres: near.metres,
                    tolerance_m,
                })
            })
            .collect();
        let here = if at_edge {
            self.country_candidates(position, &mut others)
        } else {
            None
        };
        others.sort_by(|a, b| a.metres.total_cmp(&b.metres));

        let mut doubts = Vec::new();
        let value = match (self.county(county), here) {
            (Some(area), _) => Some(area),
            (None, Some(country)) if !has_counties(country.country) => {
                others.retain(|other| other.area != country);
                Some(country)
            }
            (None, united_states) => {
                let nearest = others
                    .iter()
                    .position(|other| other.area.county.is_some() || united_states.is_none());
                match nearest.map(|index| others.remove(index)) {
                    Some(Candidate {
                        area: nearest,
                        metres,
                        tolerance_m,
                    }) => {
                        doubts.push(AreaDoubt::OffTheEdge {
                            nearest,
                            metres,
                            tolerance_m,
                        });
                        Some(nearest)
                    }
                    None => {
                        doubts.push(if united_states.is_some() {
                            AreaDoubt::NoCounty
                        } else {
                            AreaDoubt::Nowhere
                        });
                        united_states
                    }
                }
            }
        };
        if let Some(here) = value {
            doubts.extend(others.into_iter().map(|other| AreaDoubt::NearBorder {
                here,
                there: other.area,
                metres: other.metres,
                tolerance_m: other.tolerance_m,
            }));
        }
        AreaEstimate { value, doubts }
    }

    /// The country that holds the position; those that hold it or are near join `others`,
    /// save the United States, whose counties are there already.
    fn country_candidates(&self, position: Position, others: &mut Vec<Candidate>) -> Option<Area> {
        let number = self.countries.area_at(position);
        let tolerance_m = self.countries.tolerance_m;
        let near = self
            .countries
            .near(position, number, f64::from(tolerance_m));
        let held =
            std::iter::once((number, 0.0)).chain(near.iter().map(|near| (near.area, near.metres)));
        others.extend(held.filter_map(|(number, metres)| {
            let area = self.country(number)?;
            (!has_counties(area.country)).then_some(Candidate {
                area,
                metres,
                tolerance_m,
            })
        }));
        self.country(number)
    }

    fn county(&self, number: u32) -> Option<Area> {
        let Entry { code: fips, name } = *entry(self.counties, number)?;
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

fn entry<'a>(layer: &'a Layer<'static>, number: u32) -> Option<&'a Entry<'static>> {
    layer.areas.get((number as usize).checked_sub(1)?)
}

fn as_country(entry: &Entry<'static>) -> Country {
    Country {
        name: entry.name,
        iso: (!entry.code.is_empty()).then_some(entry.code),
    }
}

/// Whether the counties layer covers this country or territory.
fn has_counties(country: Country) -> bool {
    country.iso.is_some_and(states::any_with_iso)
}
