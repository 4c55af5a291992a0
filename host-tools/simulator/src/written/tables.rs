//! Tables of countries and first names.

use crate::written::header::VoiceSex;

/// A country whose stations can be met.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct CountryRow {
    pub(super) name: &'static str,
    /// Prefixes of one character and of two, without the figure.
    pub(super) prefixes: [Vec<&'static str>; 2],
    tongue: &'static str,
    pub(super) towns: Vec<&'static str>,
}

fn rows(text: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    text.lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| line.split('\t').collect())
}

fn listed(cell: &'static str) -> Vec<&'static str> {
    cell.split(',').filter(|part| !part.is_empty()).collect()
}

/// The row of a country.
pub(super) fn country(name: &str) -> Option<CountryRow> {
    let mut rows = rows(include_str!("countries.tsv"));
    let row = rows.find(|row| row.first() == Some(&name))?;
    let [name, one, two, tongue, towns] = row[..] else {
        return None;
    };
    Some(CountryRow {
        name,
        prefixes: [listed(one), listed(two)],
        tongue,
        towns: listed(towns),
    })
}

impl CountryRow {
    /// First names that are usual there.
    pub(super) fn names(&self, sex: VoiceSex) -> Vec<&'static str> {
        let column = match sex {
            VoiceSex::Man => 1,
            VoiceSex::Woman => 2,
        };
        let mut rows = rows(include_str!("first_names.tsv"));
        let row = rows.find(|row| row.first() == Some(&self.tongue));
        row.and_then(|row| row.get(column).copied())
            .map(listed)
            .unwrap_or_default()
    }
}

/// States of the United States and provinces of Canada and Australia, each with a county or
/// district of it.
pub(super) const STATES: [(&str, &str, &str); 40] = [
    ("United States", "Alabama", "Mobile"),
    ("United States", "Arizona", "Yavapai"),
    ("United States", "Arkansas", "Pope"),
    ("United States", "California", "Kern"),
    ("United States", "Colorado", "Routt"),
    ("United States", "Florida", "Dixie"),
    ("United States", "Georgia", "Bibb"),
    ("United States", "Idaho", "Ada"),
    ("United States", "Illinois", "Peoria"),
    ("United States", "Indiana", "Brown"),
    ("United States", "Iowa", "Story"),
    ("United States", "Kansas", "Riley"),
    ("United States", "Kentucky", "Floyd"),
    ("United States", "Louisiana", "Caddo"),
    ("United States", "Maine", "Waldo"),
    ("United States", "Michigan", "Kent"),
    ("United States", "Minnesota", "Itasca"),
    ("United States", "Missouri", "Boone"),
    ("United States", "Montana", "Gallatin"),
    ("United States", "Nebraska", "Cass"),
    ("United States", "Nevada", "Elko"),
    ("United States", "New Mexico", "Taos"),
    ("United States", "New York", "Oneida"),
    ("United States", "North Carolina", "Wake"),
    ("United States", "North Dakota", "Cass"),
    ("United States", "Ohio", "Allen"),
    ("United States", "Oklahoma", "Creek"),
    ("United States", "Oregon", "Lane"),
    ("United States", "Pennsylvania", "Centre"),
    ("United States", "Tennessee", "Knox"),
    ("United States", "Texas", "Tarrant"),
    ("United States", "Utah", "Cache"),
    ("United States", "Vermont", "Addison"),
    ("United States", "Virginia", "Page"),
    ("United States", "Washington", "Yakima"),
    ("United States", "Wisconsin", "Dane"),
    ("Canada", "Alberta", "Red Deer"),
    ("Canada", "Ontario", "Simcoe"),
    ("Canada", "Nova Scotia", "Lunenburg"),
    ("Australia", "Victoria", "Mildura"),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_country_has_prefixes_a_tongue_with_names_and_towns() {
        let mut count = 0;
        for row in rows(include_str!("countries.tsv")) {
            let country = country(row[0]).unwrap_or_else(|| panic!("{row:?}"));
            assert!(
                country.prefixes.iter().any(|list| !list.is_empty()),
                "{row:?}"
            );
            assert!(
                country.prefixes[0].iter().all(|prefix| prefix.len() == 1),
                "{row:?}"
            );
            assert!(
                country.prefixes[1].iter().all(|prefix| prefix.len() == 2),
                "{row:?}"
            );
            assert!(!country.towns.is_empty(), "{row:?}");
            for sex in [VoiceSex::Man, VoiceSex::Woman] {
                assert!(!country.names(sex).is_empty(), "{row:?}");
            }
            count += 1;
        }
        assert!(count >= 60, "{count}");
    }
}
