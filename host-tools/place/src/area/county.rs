//! Areas as the map names them.

use std::fmt;

use super::states::UsState;

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
