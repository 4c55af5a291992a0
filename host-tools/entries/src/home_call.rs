//! The station that a call sign belongs to.

use jumpseat_place::callsign;

/// The call sign without its prefix and suffix at a stroke, in upper case: a station is
/// the same at home and on the road. Text that cannot be a call sign is returned in upper
/// case.
pub fn home_call(call: &str) -> String {
    match callsign::parse(call).ok().and_then(|parsed| parsed.value) {
        Some(sign) => sign.home().to_owned(),
        None => call.trim().to_uppercase(),
    }
}

#[cfg(test)]
mod tests {
    use super::home_call;

    #[test]
    fn a_station_is_the_same_on_the_road() {
        for (call, home) in [
            ("KB0QSE", "KB0QSE"),
            ("kb0qse/m", "KB0QSE"),
            ("VP2E/KB0QSE/P", "KB0QSE"),
            ("no call", "NO CALL"),
            ("", ""),
        ] {
            assert_eq!(home_call(call), home);
        }
    }
}
