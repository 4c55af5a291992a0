//! A contact: what a person confirmed.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use crate::Area;

/// A confirmed contact. What is not known is `None`, never a guess.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Contact {
    /// The other station's call sign.
    pub call: String,
    /// Start, UTC.
    pub on: Option<DateTime<Utc>>,
    /// End, UTC.
    pub off: Option<DateTime<Utc>>,
    /// Frequency in hertz.
    pub hz: Option<u64>,
    /// Band in the words of the ADIF enumeration, such as "20m".
    pub band: Option<String>,
    /// Mode in the words of the ADIF enumeration, such as "SSB".
    pub mode: Option<String>,
    /// Submode in the words of the ADIF enumeration, such as "USB".
    pub submode: Option<String>,
    /// Report given.
    pub sent: Option<String>,
    /// Report received.
    pub received: Option<String>,
    /// The other operator's name.
    pub name: Option<String>,
    /// Remarks.
    pub comment: Option<String>,
    /// Own station's call sign.
    pub station: Option<String>,
    /// The operator's call sign.
    pub operator: Option<String>,
    /// Own locator, 2 to 10 characters.
    pub locator: Option<String>,
    /// Own latitude in degrees, north positive, -90 to 90.
    pub lat: Option<f64>,
    /// Own longitude in degrees, east positive, -180 to 180.
    pub lon: Option<f64>,
    /// Area of the own position when the contact began, where there is no doubt.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub area: Option<Area>,
}
