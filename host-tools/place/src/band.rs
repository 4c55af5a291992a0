//! Bands: which amateur band a frequency lies in.
//!
//! The table is data (`bands.toml`, built in), and a person may bring another of
//! the same form.

use std::sync::LazyLock;

use serde::Deserialize;

/// The built-in table's text, as a model for one's own.
pub const DEFAULT_TABLE: &str = include_str!("bands.toml");

/// An amateur band.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Band {
    /// The ADIF band enumeration's name, such as "20m".
    pub name: String,
    /// Its edges, by ITU region.
    pub edges: Vec<Edges>,
}

/// The edges of a band in some of the ITU regions.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Edges {
    /// ITU regions, 1 to 3.
    pub regions: Vec<u8>,
    /// Lowest and highest frequency in hertz, both included.
    pub hz: [u64; 2],
}

impl Edges {
    fn contains(&self, hz: u64) -> bool {
        (self.hz[0]..=self.hz[1]).contains(&hz)
    }
}

impl Band {
    /// Whether a frequency lies in the band in the given ITU region.
    pub fn contains(&self, hz: u64, region: u8) -> bool {
        self.edges
            .iter()
            .any(|edges| edges.regions.contains(&region) && edges.contains(hz))
    }
}

/// A table of bands.
#[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Table {
    /// The bands, in any order.
    #[serde(rename = "band")]
    pub bands: Vec<Band>,
}

/// Why a text is no table of bands.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TableError {
    /// Not TOML of the right form.
    #[error("the band table cannot be read: {0}")]
    Form(String),
    /// Edges that no band can have.
    #[error("band {name}: the lowest frequency ({low} Hz) is above the highest ({high} Hz)")]
    Upside {
        /// The band.
        name: String,
        /// As given.
        low: u64,
        /// As given.
        high: u64,
    },
    /// Other than ITU regions 1 to 3.
    #[error("band {name}: there is no ITU region {region}; regions are 1, 2 and 3")]
    Region {
        /// The band.
        name: String,
        /// As given.
        region: u8,
    },
}

impl Table {
    /// Reads a table in TOML of the form of [`DEFAULT_TABLE`].
    pub fn parse(text: &str) -> Result<Self, TableError> {
        let table: Self =
            toml::from_str(text).map_err(|error| TableError::Form(error.to_string()))?;
        for band in &table.bands {
            let name = || band.name.clone();
            for edges in &band.edges {
                let [low, high] = edges.hz;
                if low > high {
                    return Err(TableError::Upside {
                        name: name(),
                        low,
                        high,
                    });
                }
                if let Some(&region) = edges.regions.iter().find(|r| !(1..=3).contains(*r)) {
                    return Err(TableError::Region {
                        name: name(),
                        region,
                    });
                }
            }
        }
        Ok(table)
    }

    /// The band that a frequency in hertz lies in, in any region.
    pub fn of(&self, hz: u64) -> Option<&Band> {
        self.bands
            .iter()
            .find(|band| band.edges.iter().any(|edges| edges.contains(hz)))
    }
}

/// The built-in table.
pub fn table() -> &'static Table {
    // The built-in text is checked by a test; were it wrong, no band would be known.
    static TABLE: LazyLock<Table> =
        LazyLock::new(|| Table::parse(DEFAULT_TABLE).unwrap_or_default());
    &TABLE
}

/// The band that a frequency in hertz lies in, in any region, by the built-in table.
pub fn of(hz: u64) -> Option<&'static Band> {
    table().of(hz)
}
