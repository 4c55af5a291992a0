//! Bands: which amateur band a frequency lies in.
//!
//! The table is data (`bands.toml`, built in), and a person may bring another of
//! the same form.

use std::sync::LazyLock;

use serde::Deserialize;

/// The built-in table's text, as a model for one's own.
pub const DEFAULT_BAND_TABLE: &str = include_str!("bands.toml");

/// An amateur band.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AmateurBand {
    /// The ADIF band enumeration's name, such as "20m".
    pub name: String,
    /// Its edges, by ITU region.
    pub edges: Vec<BandEdges>,
}

/// The edges of a band in some of the ITU regions.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BandEdges {
    /// ITU regions, 1 to 3.
    pub regions: Vec<u8>,
    /// Lowest and highest frequency in hertz, both included.
    pub hz: [u64; 2],
}

impl BandEdges {
    fn contains(&self, hz: u64) -> bool {
        (self.hz[0]..=self.hz[1]).contains(&hz)
    }
}

impl AmateurBand {
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
pub struct BandTable {
    /// The bands, in any order.
    #[serde(rename = "band")]
    pub bands: Vec<AmateurBand>,
}

/// Why a text is no table of bands.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BandTableError {
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

impl BandTable {
    /// Reads a table in TOML of the form of [`DEFAULT_BAND_TABLE`].
    pub fn parse(text: &str) -> Result<Self, BandTableError> {
        let table: Self =
            toml::from_str(text).map_err(|error| BandTableError::Form(error.to_string()))?;
        for band in &table.bands {
            let name = || band.name.clone();
            for edges in &band.edges {
                let [low, high] = edges.hz;
                if low > high {
                    return Err(BandTableError::Upside {
                        name: name(),
                        low,
                        high,
                    });
                }
                if let Some(&region) = edges.regions.iter().find(|r| !(1..=3).contains(*r)) {
                    return Err(BandTableError::Region {
                        name: name(),
                        region,
                    });
                }
            }
        }
        Ok(table)
    }

    /// The band that a frequency in hertz lies in, in any region.
    pub fn band_of(&self, hz: u64) -> Option<&AmateurBand> {
        self.bands
            .iter()
            .find(|band| band.edges.iter().any(|edges| edges.contains(hz)))
    }
}

/// The built-in table.
pub fn table() -> &'static BandTable {
    // The built-in text is checked by a test; were it wrong, no band would be known.
    static TABLE: LazyLock<BandTable> =
        LazyLock::new(|| BandTable::parse(DEFAULT_BAND_TABLE).unwrap_or_default());
    &TABLE
}

/// The band that a frequency in hertz lies in, in any region, by the built-in table.
pub fn of(hz: u64) -> Option<&'static AmateurBand> {
    table().band_of(hz)
}

/// A band's name in small letters from what a person types: the name in any case, or
/// of the bands in the built-in table without its unit. `None` for anything else.
pub fn typed_name(text: &str) -> Option<String> {
    let text = text.trim().to_ascii_lowercase();
    let digits = text.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    let is_number = digits.parse::<f32>().is_ok_and(|number| number > 0.0);
    match text.get(digits.len()..) {
        Some("m" | "cm" | "mm") if is_number => Some(text),
        // ADIF's name for everything below a millimetre.
        Some("submm") if digits.is_empty() => Some(text),
        Some("") => ["m", "cm"]
            .iter()
            .map(|unit| format!("{text}{unit}"))
            .find(|name| table().bands.iter().any(|band| band.name == *name)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(hz: u64, expected: Option<&str>) {
        assert_eq!(of(hz).map(|band| band.name.as_str()), expected, "{hz}");
    }

    #[test]
    fn a_frequency_lies_in_its_band_both_edges_included() {
        check(14_250_000, Some("20m"));
        check(14_000_000, Some("20m"));
        check(14_350_000, Some("20m"));
        check(13_999_999, None);
        check(14_350_001, None);
        check(7_150_000, Some("40m"));
        check(3_573_000, Some("80m"));
        check(21_300_000, Some("15m"));
        check(28_400_000, Some("10m"));
        check(145_500_000, Some("2m"));
        check(433_500_000, Some("70cm"));
        check(1_296_200_000, Some("23cm"));
    }

    #[test]
    fn a_band_is_known_as_people_type_it() {
        for (text, expected) in [
            ("20m", Some("20m")),
            (" 20M", Some("20m")),
            ("20", Some("20m")),
            ("70", Some("70cm")),
            ("1.25m", Some("1.25m")),
            // No band of the table, and one of other people's logs.
            ("8m", Some("8m")),
            ("submm", Some("submm")),
            ("14", None),
            ("", None),
            ("m", None),
            ("0m", None),
            ("20 meters", None),
            ("14.2", None),
        ] {
            assert_eq!(typed_name(text).as_deref(), expected, "{text}");
        }
    }

    #[test]
    fn what_is_no_amateur_band_has_none() {
        for hz in [0, 27_185_000, 121_500_000, 156_800_000, u64::MAX] {
            check(hz, None);
        }
    }

    #[test]
    fn regions_differ_where_the_regulations_do() {
        let band = |hz| of(hz).unwrap();
        let regions = |hz: u64| {
            [1, 2, 3]
                .into_iter()
                .filter(|&region| band(hz).contains(hz, region))
                .collect::<Vec<u8>>()
        };
        assert_eq!(regions(7_250_000), [2]);
        assert_eq!(regions(3_850_000), [2, 3]);
        assert_eq!(regions(146_520_000), [2, 3]);
        assert_eq!(regions(1_805_000), [2, 3]);
        assert_eq!(regions(14_250_000), [1, 2, 3]);
        assert!(!band(14_250_000).contains(14_250_000, 0));
    }

    #[test]
    fn the_built_in_table_is_whole_and_its_bands_do_not_overlap() {
        let table = BandTable::parse(DEFAULT_BAND_TABLE).unwrap();
        assert_eq!(table.bands.len(), 23);
        let mut reached = 0;
        for band in &table.bands {
            let low = band.edges.iter().map(|edges| edges.hz[0]).min().unwrap();
            let high = band.edges.iter().map(|edges| edges.hz[1]).max().unwrap();
            assert!(low > reached, "{}", band.name);
            reached = high;
            let mut regions: Vec<u8> = band
                .edges
                .iter()
                .flat_map(|edges| edges.regions.clone())
                .collect();
            regions.sort_unstable();
            let count = regions.len();
            regions.dedup();
            assert_eq!(count, regions.len(), "{}: a region twice", band.name);
        }
    }

    #[test]
    fn ones_own_table_is_read_and_a_wrong_one_is_refused_with_the_reason() {
        let own = "[[band]]\nname = \"mine\"\nedges = [{ regions = [2], hz = [5, 7] }]\n";
        let table = BandTable::parse(own).unwrap();
        assert_eq!(
            table.band_of(6).map(|band| band.name.as_str()),
            Some("mine")
        );
        for (from, to, expected) in [
            ("[5, 7]", "[7, 5]", "band mine: the lowest frequency (7 Hz)"),
            ("[2]", "[4]", "band mine: there is no ITU region 4"),
            ("name", "nam", "unknown field `nam`"),
            ("[[band]]", "[[bands]]", "unknown field `bands`"),
            ("hz = [5, 7]", "hz = [5]", "cannot be read"),
        ] {
            let error = BandTable::parse(&own.replace(from, to)).unwrap_err();
            assert!(error.to_string().contains(expected), "{error}");
        }
    }
}
