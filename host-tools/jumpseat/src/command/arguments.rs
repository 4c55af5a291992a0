//! Reads arguments that several subcommands have.

use std::str::FromStr;

use chrono::NaiveDate;

use crate::outcome::UsageError;

/// A whole number.
pub(super) fn whole_number<T: FromStr>(text: &str) -> Result<T, String> {
    text.parse()
        .map_err(|_| "give a whole number, such as 12".to_owned())
}

/// A band by its wavelength.
pub(super) fn band(text: &str) -> Result<String, String> {
    jumpseat_place::band::typed_name(text)
        .ok_or_else(|| "give a band by its wavelength, such as 20m, 2m or 70cm".to_owned())
}

/// A day.
pub(super) fn date(text: &str) -> Result<NaiveDate, String> {
    text.parse()
        .map_err(|_| "give a date as year, month and day, such as 2026-05-14".to_owned())
}

/// Refuses a range of days whose end is before its start.
pub(super) fn check_date_order(
    from: Option<NaiveDate>,
    to: Option<NaiveDate>,
) -> Result<(), UsageError> {
    match (from, to) {
        (Some(from), Some(to)) if to < from => Err(UsageError(format!(
            "--to {to} is before --from {from}; exchange the two"
        ))),
        _ => Ok(()),
    }
}
