//! The fields of a record, the same in ADI and ADX files.

use super::field::{day, degrees, time_of_day};
use super::text::ascii;
use crate::{Contact, megahertz};

/// Why a contact cannot stand in a log file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NotExportable {
    /// No call sign, or none that ASCII can write.
    #[error("it has no call sign")]
    NoCall,
    /// No date and time.
    #[error("its time is not known")]
    NoTime,
}

/// Whether a contact can stand in a log file: a record needs a call sign, a
/// date and a time.
pub fn exportable(contact: &Contact) -> Result<(), NotExportable> {
    if ascii(contact.call.trim()).0.is_empty() {
        return Err(NotExportable::NoCall);
    }
    contact.on.map(|_| ()).ok_or(NotExportable::NoTime)
}

/// Names and values in the order in which they are written. A value is trimmed,
/// not empty, and may hold any character; what is not known is left out.
pub(super) fn fields(contact: &Contact) -> Result<Vec<(&'static str, String)>, NotExportable> {
    exportable(contact)?;
    let on = contact.on.ok_or(NotExportable::NoTime)?;
    let mut fields: Vec<(&'static str, String)> = Vec::new();
    let mut add = |name, value: Option<String>| {
        let value = value.map(|value| value.trim().to_owned());
        if let Some(value) = value.filter(|value| !value.is_empty()) {
            fields.push((name, value));
        }
    };
    add("QSO_DATE", Some(day(on)));
    add("TIME_ON", Some(time_of_day(on)));
    add("QSO_DATE_OFF", contact.off.map(day));
    add("TIME_OFF", contact.off.map(time_of_day));
    add("CALL", Some(contact.call.clone()));
    add("FREQ", contact.hz.map(megahertz));
    add("BAND", contact.band.clone());
    add("MODE", contact.mode.clone());
    add("SUBMODE", contact.submode.clone());
    add("RST_SENT", contact.sent.clone());
    add("RST_RCVD", contact.received.clone());
    add("NAME", contact.name.clone());
    add("COMMENT", contact.comment.clone());
    add("STATION_CALLSIGN", contact.station.clone());
    add("OPERATOR", contact.operator.clone());
    if let Some(locator) = &contact.locator {
        // Eight characters in the field, the rest of a longer one beside it.
        let (locator, more) = locator.split_at_checked(8).unwrap_or((locator, ""));
        add("MY_GRIDSQUARE", Some(locator.to_owned()));
        add("MY_GRIDSQUARE_EXT", Some(more.to_owned()));
    }
    let lat = contact.lat.and_then(|lat| degrees(lat, 90, ['N', 'S']));
    add("MY_LAT", lat);
    let lon = contact.lon.and_then(|lon| degrees(lon, 180, ['E', 'W']));
    add("MY_LON", lon);
    if let Some(area) = &contact.area {
        add("MY_DXCC", area.dxcc.map(|number| number.to_string()));
        add("MY_COUNTRY", area.country.clone());
        add("MY_STATE", area.state.clone());
        add("MY_CNTY", area.county.clone());
    }
    Ok(fields)
}
