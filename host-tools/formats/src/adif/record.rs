//! The fields of a record, the same in ADI and ADX files.

use super::field::{day, degrees, minute_of_day, time_of_day};
use super::spec::{self, AdifTextKind};
use super::text::ascii;
use jumpseat_entries::{Contact, ExtraField};
use jumpseat_values::display::megahertz;

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

/// A field as it will be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct AdifField {
    pub(super) name: String,
    /// Trimmed, not empty; any character, line breaks as `\n`.
    pub(super) value: String,
    pub(super) holds: AdifTextKind,
    /// The data type indicator, for a field that the specification does not have.
    pub(super) kind: Option<String>,
    /// It must be defined in the file's header.
    pub(super) user: bool,
}

/// Fields in the order in which they are written. What is not known is left out.
pub(super) fn fields(contact: &Contact) -> Result<Vec<AdifField>, NotExportable> {
    exportable(contact)?;
    let on = contact.on.ok_or(NotExportable::NoTime)?;
    let clock = if contact.whole_minutes {
        minute_of_day
    } else {
        time_of_day
    };
    let mut fields: Vec<AdifField> = Vec::new();
    let mut add = |name: &str, value: Option<String>| {
        let value = value.map(|value| value.trim().to_owned());
        if let Some(value) = value.filter(|value| !value.is_empty()) {
            fields.push(AdifField {
                name: name.to_owned(),
                value,
                holds: spec::holds(name).unwrap_or(AdifTextKind::Line),
                kind: None,
                user: false,
            });
        }
    };
    add("QSO_DATE", Some(day(on)));
    add("TIME_ON", Some(clock(on)));
    add("QSO_DATE_OFF", contact.off.map(day));
    add("TIME_OFF", contact.off.map(clock));
    add("CALL", Some(contact.call.clone()));
    add("FREQ", contact.hz.map(megahertz));
    let other = contact.hz_rx.filter(|hz| contact.hz != Some(*hz));
    add("FREQ_RX", other.map(megahertz));
    add("BAND", contact.band.clone());
    add("MODE", contact.mode.clone());
    add("SUBMODE", contact.submode.clone());
    add("RST_SENT", contact.sent.clone());
    add("RST_RCVD", contact.received.clone());
    add("NAME", contact.name.clone());
    add("QTH", contact.qth.clone());
    let mut locator = |name: &str, locator: &Option<String>| {
        if let Some(locator) = locator {
            // Eight characters in the field, the rest of a longer one beside it.
            let (locator, more) = locator.split_at_checked(8).unwrap_or((locator, ""));
            add(name, Some(locator.to_owned()));
            add(&format!("{name}_EXT"), Some(more.to_owned()));
        }
    };
    locator("GRIDSQUARE", &contact.their_locator);
    locator("MY_GRIDSQUARE", &contact.locator);
    add("SIG", contact.sig.clone());
    add("SIG_INFO", contact.sig_info.clone());
    add("COMMENT", contact.comment.clone());
    add("STATION_CALLSIGN", contact.station.clone());
    add("OPERATOR", contact.operator.clone());
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
    add("MY_SIG", contact.my_sig.clone());
    add("MY_SIG_INFO", contact.my_sig_info.clone());
    for extra in &contact.more {
        if !fields.iter().any(|field| field.name == extra.name) {
            fields.extend(further(extra));
        }
    }
    // The specification has no field for where a contact ended.
    if let Some(area) = &contact.area_off {
        fields.extend(further(&ExtraField {
            name: "APP_JUMPSEAT_AREA_OFF".into(),
            value: area.name.clone(),
            kind: Some("S".into()),
            user: None,
        }));
    }
    Ok(fields)
}

/// A field that another log had.
fn further(extra: &ExtraField) -> Option<AdifField> {
    let value = extra.value.trim().to_owned();
    let known = spec::holds(&extra.name);
    let holds = known.unwrap_or(match extra.kind.as_deref() {
        Some("M") => AdifTextKind::Lines,
        Some("I") => AdifTextKind::Intl,
        Some("G") => AdifTextKind::IntlLines,
        _ => AdifTextKind::Line,
    });
    (!value.is_empty()).then(|| AdifField {
        name: extra.name.clone(),
        value,
        holds,
        kind: extra.kind.clone().filter(|_| known.is_none()),
        user: extra.user.is_some(),
    })
}
