//! The administrative area of a position: the county in the United States, the country
//! elsewhere.
//!
//! The map is part of the program (`data/areas.bin`, 1.2 MB; sources, licences and layout in
//! `data/README.md`). It holds no first-level regions outside the United States: the
//! public-domain source that we use has countries only. Counties come from the 2017 edition,
//! so Connecticut has its eight counties, not the planning regions of 2022.

mod combine;
mod doubt;
mod index;
mod locate;
mod map;
mod map_reader;
mod outline;
mod states;
#[cfg(test)]
mod tests;

use std::fmt;
use std::sync::LazyLock;

pub use doubt::AreaDoubt;
pub use map::{AreaMap, AreaMapError, MapEntry, MapLayer};
pub use outline::{BorderOutline, outlines};
pub use states::UsState;

use crate::position::Position;

static MAP: LazyLock<Result<AreaMap<'static>, AreaMapError>> =
    LazyLock::new(|| AreaMap::read(include_bytes!("../../data/areas.bin")));

/// A country, or a territory that the map shows apart from its country.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Country {
    /// Natural Earth's name, label abbreviations written out.
    pub name: &'static str,
    /// ISO 3166-1 numeric code, three digits; `None` where there is none, as for Kosovo.
    pub iso: Option<&'static str>,
}

/// A county of the United States, or what stands in its place: parish, borough, census
/// area, independent city, municipio.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct County {
    /// Name without the word county, as the Census Bureau writes it: "Santa Clara".
    pub name: &'static str,
    /// Five-digit FIPS code: "06085".
    pub fips: &'static str,
    /// The state or territory.
    pub state: &'static UsState,
}

/// Where a position is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Area {
    /// The country or territory.
    pub country: Country,
    /// The county, in the United States and their territories.
    pub county: Option<County>,
}

/// An area with what speaks against it.
#[derive(Debug, Clone, PartialEq)]
pub struct AreaEstimate {
    /// The area on whose side the position lies in our data, or the nearest one within three
    /// nautical miles of the shore; `None` at sea.
    pub value: Option<Area>,
    /// Empty when the position is well inside.
    pub doubts: Vec<AreaDoubt>,
}

/// The areas of a span of a moving track.
#[derive(Debug, Clone, PartialEq)]
pub struct SpanAreas {
    /// Where the span began.
    pub start: AreaEstimate,
    /// Where it ended, when that is another area: two entries may be owed.
    pub end: Option<AreaEstimate>,
}

/// The area of a position. Takes some microseconds; the first call reads the map and takes
/// some milliseconds.
pub fn area_of(position: Position) -> AreaEstimate {
    match sources() {
        [counties, countries] => combine::LayerPair {
            counties,
            countries,
        }
        .at(position),
        _ => AreaEstimate {
            value: None,
            doubts: vec![AreaDoubt::NoMap],
        },
    }
}

/// The areas at the start and at the end of a span, such as a contact made on the move.
pub fn over_span(start: Position, end: Position) -> SpanAreas {
    let (start, end) = (area_of(start), area_of(end));
    let end = (end.value != start.value).then_some(end);
    SpanAreas { start, end }
}

/// Source, licence and tolerance of the map's layers, counties first; empty when the map
/// cannot be read.
pub fn sources() -> &'static [MapLayer<'static>] {
    MAP.as_ref().map_or(&[], |map| &map.layers)
}

impl County {
    /// Name as spoken: "Santa Clara County", "Orleans Parish", "Fairfax City". In Alaska and
    /// in the island areas, where the source does not tell boroughs from census areas, the
    /// plain name.
    pub fn full_name(&self) -> String {
        let kind = match self.state.postal {
            _ if self.is_independent_city() && !self.name.ends_with("City") => " City",
            "AK" | "AS" | "DC" | "GU" | "MP" | "VI" => "",
            _ if self.is_independent_city() => "",
            "LA" => " Parish",
            "PR" => " Municipio",
            _ => " County",
        };
        format!("{}{kind}", self.name)
    }

    /// Whether this is a city outside any county: Baltimore, St. Louis, Carson City and the
    /// cities of Virginia. Some share their name with a county of their state. FIPS gives
    /// them numbers from 510 up.
    pub fn is_independent_city(&self) -> bool {
        matches!(self.state.postal, "MD" | "MO" | "NV" | "VA")
            && self.fips.get(2..).is_some_and(|n| n >= "510")
    }
}

impl fmt::Display for Area {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.county {
            Some(county) => write!(f, "{}, {}", county.full_name(), county.state.name),
            None => f.write_str(self.country.name),
        }
    }
}
