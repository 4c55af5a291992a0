//! Style, scripts and icon, which are part of the binary.

/// The type and text of a file.
pub(crate) fn asset(name: &str) -> Option<(&'static str, &'static str)> {
    match name {
        "review.css" => Some((
            "text/css; charset=utf-8",
            include_str!("../../assets/review.css"),
        )),
        "review.js" => Some((
            "text/javascript; charset=utf-8",
            include_str!("../../assets/review.js"),
        )),
        "player.js" => Some((
            "text/javascript; charset=utf-8",
            include_str!("../../assets/player.js"),
        )),
        "fields.js" => Some((
            "text/javascript; charset=utf-8",
            include_str!("../../assets/fields.js"),
        )),
        "icon.svg" => Some(("image/svg+xml", include_str!("../../assets/icon.svg"))),
        _ => None,
    }
}
