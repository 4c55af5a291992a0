//! A contact that a person confirmed, or that came from another log.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use crate::area::AdministrativeArea;

/// A confirmed contact. What is not known is `None`, never a guess.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Contact {
    /// The other station's call sign.
    pub call: String,
    /// Start, UTC.
    pub on: Option<DateTime<Utc>>,
    /// End, UTC.
    pub off: Option<DateTime<Utc>>,
    /// Both times are known to the minute only; their seconds are zero.
    #[serde(default, skip_serializing_if = "is_false")]
    pub whole_minutes: bool,
    /// Frequency in hertz, on which the own station transmits.
    pub hz: Option<u64>,
    /// Frequency in hertz on which the own station listens, where that is a different one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hz_rx: Option<u64>,
    /// Band as the ADIF enumeration names it, such as "20m".
    pub band: Option<String>,
    /// Mode as the ADIF enumeration names it, such as "SSB".
    pub mode: Option<String>,
    /// Submode as the ADIF enumeration names it, such as "USB".
    pub submode: Option<String>,
    /// Report given.
    pub sent: Option<String>,
    /// Report received.
    pub received: Option<String>,
    /// The other operator's name.
    pub name: Option<String>,
    /// The other station's town or place.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub qth: Option<String>,
    /// The other station's locator, 2 to 12 characters.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub their_locator: Option<String>,
    /// The other station's special activity, such as the name of a programme.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sig: Option<String>,
    /// The place within that activity, such as a reference.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sig_info: Option<String>,
    /// Remarks.
    pub comment: Option<String>,
    /// Own station's call sign.
    pub station: Option<String>,
    /// The operator's call sign.
    pub operator: Option<String>,
    /// Own locator, 2 to 12 characters.
    pub locator: Option<String>,
    /// Own latitude in degrees, north positive, -90 to 90.
    pub lat: Option<f64>,
    /// Own longitude in degrees, east positive, -180 to 180.
    pub lon: Option<f64>,
    /// Area of the own position when the contact began, where there is no doubt.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub area: Option<AdministrativeArea>,
    /// Area when it ended, where that is a different one: two entries may be due.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub area_off: Option<AdministrativeArea>,
    /// Own special activity.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub my_sig: Option<String>,
    /// The own place within that activity.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub my_sig_info: Option<String>,
    /// Every other field of the log that it came from, in its order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub more: Vec<ExtraField>,
}

impl Contact {
    /// The mode as people say it: the submode, such as "USB", where there is one.
    pub fn mode_word(&self) -> Option<&str> {
        self.submode.as_deref().or(self.mode.as_deref())
    }
}

/// A field that Jumpseat keeps and writes again, and does not use itself.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct ExtraField {
    /// Name in an ADI file, upper case, such as "QSL_SENT" or "APP_X_Y".
    pub name: String,
    /// As it was written.
    pub value: String,
    /// Data type indicator, such as "N", where one was given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<String>,
    /// For a field that the user of the other log defined: the values that it may have,
    /// such as "{S,M,L}" or "{5:20}"; empty for any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub user: Option<String>,
}

// serde wants a reference.
fn is_false(value: &bool) -> bool {
    !value
}
