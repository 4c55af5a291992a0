//! What trip.json says about a trip: board, number, power-up and operator.

use std::io::Read as _;
use std::path::Path;

use jumpseat_files::open_regular_file;
use serde::Deserialize;

use super::names::is_trip_name;

/// Bytes of trip.json at most; it has a few hundred.
pub(crate) const MAX_HEADER_BYTES: u64 = 1 << 16;

/// What trip.json says about a trip. None of it is checked.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
pub struct TripIdentity {
    trip: Option<u32>,
    /// The board's id.
    pub board: Option<String>,
    boot: Option<String>,
    station: Option<HeaderStation>,
}

#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
struct HeaderStation {
    call: Option<String>,
    operator: Option<String>,
}

impl TripIdentity {
    /// The identity of a trip by its number and its board.
    pub(crate) fn new(trip: u32, board: &str) -> Self {
        Self {
            trip: Some(trip),
            board: Some(board.to_owned()),
            ..Self::default()
        }
    }

    /// Reads the text of a trip.json; empty for a text of another form.
    pub(crate) fn parse(text: &[u8]) -> Self {
        serde_json::from_slice(text).unwrap_or_default()
    }

    /// The name that its folder had on the board.
    pub(crate) fn name(&self) -> Option<String> {
        let name = format!("trip-{:06}-{}", self.trip?, self.board.as_deref()?);
        is_trip_name(&name).then_some(name)
    }

    /// The power-up, if it has the right form: eight lower-case hex digits.
    pub(crate) fn boot(&self) -> Option<&str> {
        let boot = self.boot.as_deref()?;
        let digits = |letter: u8| matches!(letter, b'0'..=b'9' | b'a'..=b'f');
        (boot.len() == 8 && boot.bytes().all(digits)).then_some(boot)
    }

    /// The operator, or the station's call sign where there is no operator.
    #[must_use]
    pub fn operator(&self) -> Option<&str> {
        let station = self.station.as_ref()?;
        station.operator.as_deref().or(station.call.as_deref())
    }
}

/// Reads the identity of a trip's folder; empty when trip.json cannot be read.
#[must_use]
pub fn read_identity(folder: &Path) -> TripIdentity {
    let mut text = Vec::new();
    // Opening the trip reports why its header cannot be read.
    let read = open_regular_file(&folder.join("trip.json"))
        .and_then(|file| file.take(MAX_HEADER_BYTES).read_to_end(&mut text));
    match read {
        Ok(_) => TripIdentity::parse(&text),
        Err(_) => TripIdentity::default(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, name: Option<&str>, operator: Option<&str>) {
        let identity = TripIdentity::parse(text.as_bytes());
        let found = (identity.name(), identity.operator().map(str::to_owned));
        assert_eq!((found.0.as_deref(), found.1.as_deref()), (name, operator));
    }

    #[test]
    fn a_trip_says_which_it_is_and_whose() {
        let both = r#"{"format":1,"trip":17,"board":"3fa2c1","station":{"call":"W7QTM","operator":"KB0QSE"}}"#;
        check(both, Some("trip-000017-3fa2c1"), Some("KB0QSE"));
        let call = r#"{"trip":17,"board":"3fa2c1","station":{"call":"W7QTM"}}"#;
        check(call, Some("trip-000017-3fa2c1"), Some("W7QTM"));
        check(r#"{"trip":17,"board":"../../etc"}"#, None, None);
        check(r#"{"trip":17}"#, None, None);
        check(r#"{"trip":"x"}"#, None, None);
        check("", None, None);
    }
}
