//! From what a trip says of an instant to the values of a draft.
//!
//! A draft that was just assembled and one that a person took apart are resolved by the
//! same functions, so that both say the same of the same second.

mod area;

use chrono::{DateTime, SubsecRound as _, Utc};
use jumpseat_place::{band, locator};
use jumpseat_values::{DialDoubt, DialSetting, Estimate, Position};

pub use area::{AreaCrossing, area_crossing};

/// Within this many metres the subsquare (about 5 by 7 km) is right more often than not.
const SUBSQUARE_UNCERTAINTY_M: f64 = 2_500.0;

/// What a trip knows of its instants, given in seconds since its first sample.
pub trait TripInstants {
    /// UTC.
    fn time_at(&self, at_s: f64) -> Estimate<DateTime<Utc>>;
    /// The own place.
    fn place_at(&self, at_s: f64) -> Estimate<Position>;
    /// What the radio was tuned to.
    fn dial_at(&self, at_s: f64) -> Estimate<DialSetting>;
}

/// The own place in the fields of a draft.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnPlace {
    /// Latitude in degrees, to a millionth.
    pub lat: Estimate<f64>,
    /// Longitude in degrees, to a millionth.
    pub lon: Estimate<f64>,
    /// Six characters of the locator, or four where the uncertainty leaves no more.
    pub locator: Estimate<String>,
}

/// Latitude, longitude and locator of a place.
pub fn own_place(place: &Estimate<Position>) -> OwnPlace {
    let coarse = place
        .uncertainty
        .is_some_and(|metres| metres > SUBSQUARE_UNCERTAINTY_M);
    let pairs = if coarse { 2 } else { 3 };
    let locator = place
        .value
        .and_then(|at| locator::encode(at.lat(), at.lon(), pairs).ok());
    let degrees = |degrees: f64| (degrees * 1e6).round() / 1e6;
    OwnPlace {
        lat: Estimate::new(
            place.value.map(|at| degrees(at.lat())),
            place.doubts.clone(),
        ),
        lon: Estimate::new(
            place.value.map(|at| degrees(at.lon())),
            place.doubts.clone(),
        ),
        locator: Estimate::new(locator, place.doubts.clone()),
    }
}

/// A time to the millisecond, as it is stored.
pub fn stored_time(time: Estimate<DateTime<Utc>>) -> Estimate<DateTime<Utc>> {
    Estimate {
        uncertainty: time.uncertainty.map(round_ms),
        ..Estimate::new(time.value.map(|utc| utc.round_subsecs(3)), time.doubts)
    }
}

/// Seconds to the millisecond.
pub fn round_ms(seconds: f64) -> f64 {
    (seconds * 1e3).round() / 1e3
}

/// The band of a frequency. Where there is a frequency, its doubts are not repeated.
pub fn band_of(hz: &Estimate<u64>) -> Estimate<String> {
    let Some(value) = hz.value else {
        return Estimate::new(None, hz.doubts.clone());
    };
    match band::of(value) {
        Some(band) => Estimate::new(Some(band.name.clone()), Vec::new()),
        None => Estimate::unknown(DialDoubt::NoBand),
    }
}
