//! The administrative area that an own position lies in.

use serde::{Deserialize, Serialize};

/// An area as people call it and as the ADIF specification does. What the specification
/// has no certain value for is `None`.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct AdministrativeArea {
    /// As people call it, such as "Sweetwater County, Wyoming".
    pub name: String,
    /// Short, for a column, such as "Sweetwater, WY".
    pub short: String,
    /// Number of the entity in the ADIF enumeration `DXCC_Entity_Code`.
    pub dxcc: Option<u16>,
    /// The entity's name in that enumeration, such as "UNITED STATES OF AMERICA".
    pub country: Option<String>,
    /// Primary administrative subdivision, such as "WY".
    pub state: Option<String>,
    /// Secondary administrative subdivision, such as "WY,Sweetwater".
    pub county: Option<String>,
}
