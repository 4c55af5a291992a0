//! The states and territories that have counties in the map.

/// A state or territory of the United States.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct UsState {
    /// Two-digit FIPS code (now ANSI INCITS 38), the first two digits of a county's code.
    pub fips: &'static str,
    /// Two-letter postal abbreviation, as ADIF's STATE field wants it.
    pub postal: &'static str,
    /// Name in full.
    pub name: &'static str,
    /// ISO 3166-1 number of the country or territory: "840", or its own for an island area.
    pub iso: &'static str,
}

/// Finds a state by the first two digits of a county's FIPS code.
pub(super) fn by_fips(fips: &str) -> Option<&'static UsState> {
    US_STATES.iter().find(|state| state.fips == fips)
}

/// Whether the country or territory with this ISO 3166-1 number has counties in the map.
pub(super) fn any_with_iso(iso: &str) -> bool {
    US_STATES.iter().any(|state| state.iso == iso)
}

const fn state(fips: &'static str, postal: &'static str, name: &'static str) -> UsState {
    UsState {
        fips,
        postal,
        name,
        iso: "840",
    }
}

/// ANSI INCITS 38, in the order of its codes.
const US_STATES: [UsState; 56] = [
    state("01", "AL", "Alabama"),
    state("02", "AK", "Alaska"),
    state("04", "AZ", "Arizona"),
    state("05", "AR", "Arkansas"),
    state("06", "CA", "California"),
    state("08", "CO", "Colorado"),
    state("09", "CT", "Connecticut"),
    state("10", "DE", "Delaware"),
    state("11", "DC", "District of Columbia"),
    state("12", "FL", "Florida"),
    state("13", "GA", "Georgia"),
    state("15", "HI", "Hawaii"),
    state("16", "ID", "Idaho"),
    state("17", "IL", "Illinois"),
    state("18", "IN", "Indiana"),
    state("19", "IA", "Iowa"),
    state("20", "KS", "Kansas"),
    state("21", "KY", "Kentucky"),
    state("22", "LA", "Louisiana"),
    state("23", "ME", "Maine"),
    state("24", "MD", "Maryland"),
    state("25", "MA", "Massachusetts"),
    state("26", "MI", "Michigan"),
    state("27", "MN", "Minnesota"),
    state("28", "MS", "Mississippi"),
    state("29", "MO", "Missouri"),
    state("30", "MT", "Montana"),
    state("31", "NE", "Nebraska"),
    state("32", "NV", "Nevada"),
    state("33", "NH", "New Hampshire"),
    state("34", "NJ", "New Jersey"),
    state("35", "NM", "New Mexico"),
    state("36", "NY", "New York"),
    state("37", "NC", "North Carolina"),
    state("38", "ND", "North Dakota"),
    state("39", "OH", "Ohio"),
    state("40", "OK", "Oklahoma"),
    state("41", "OR", "Oregon"),
    state("42", "PA", "Pennsylvania"),
    state("44", "RI", "Rhode Island"),
    state("45", "SC", "South Carolina"),
    state("46", "SD", "South Dakota"),
    state("47", "TN", "Tennessee"),
    state("48", "TX", "Texas"),
    state("49", "UT", "Utah"),
    state("50", "VT", "Vermont"),
    state("51", "VA", "Virginia"),
    state("53", "WA", "Washington"),
    state("54", "WV", "West Virginia"),
    state("55", "WI", "Wisconsin"),
    state("56", "WY", "Wyoming"),
    UsState {
        fips: "60",
        postal: "AS",
        name: "American Samoa",
        iso: "016",
    },
    UsState {
        fips: "66",
        postal: "GU",
        name: "Guam",
        iso: "316",
    },
    UsState {
        fips: "69",
        postal: "MP",
        name: "Commonwealth of the Northern Mariana Islands",
        iso: "580",
    },
    UsState {
        fips: "72",
        postal: "PR",
        name: "Puerto Rico",
        iso: "630",
    },
    UsState {
        fips: "78",
        postal: "VI",
        name: "United States Virgin Islands",
        iso: "850",
    },
];
