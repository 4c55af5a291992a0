//! The names of all features, and how their values are written down.

/// Names of all features, in the order of the weights.
pub(crate) const FEATURE_NAMES: [&str; 70] = [
    "start",
    "start_received",
    "start_general_call",
    "start_soon_after_transmission",
    "start_soon_after_speech",
    "start_replied_soon",
    "start_own_sign",
    "tx_tx_2",
    "tx_tx_8",
    "tx_tx_20",
    "tx_tx_60",
    "tx_tx_more",
    "tx_rx_2",
    "tx_rx_8",
    "tx_rx_20",
    "tx_rx_60",
    "tx_rx_more",
    "rx_tx_2",
    "rx_tx_8",
    "rx_tx_20",
    "rx_tx_60",
    "rx_tx_more",
    "rx_rx_2",
    "rx_rx_8",
    "rx_rx_20",
    "rx_rx_60",
    "rx_rx_more",
    "dial_near",
    "general_call_within",
    "general_call_received_within",
    "own_sign_received",
    "own_sign_not_received",
    "after_farewell",
    "same_partner",
    "other_partner",
    "same_side_goes_on_minutes",
    "tx_names_partner",
    "audio_missing",
    "end_tx_2",
    "end_tx_8",
    "end_tx_20",
    "end_tx_60",
    "end_tx_more",
    "end_rx_2",
    "end_rx_8",
    "end_rx_20",
    "end_rx_60",
    "end_rx_more",
    "end_is_transmission",
    "end_farewell",
    "end_marked",
    "end_dial_moves",
    "end_partner_goes_on",
    "nothing_received",
    "one_transmission",
    "no_exchange",
    "one_exchange",
    "marked_within",
    "log_minutes",
    "events",
    "other_tx",
    "other_tx_general_call",
    "other_rx_own_sign",
    "other_rx_after_tx",
    "other_rx_before_tx",
    "other_marked",
    "other_tx_answered",
    "other_tx_names_partner",
    "other_farewell",
    "other_tx_short",
];

/// A feature's place among [`FEATURE_NAMES`], and its value.
pub(crate) type ActiveFeature = (usize, f64);

/// Which of five lengths a silence has.
pub(super) fn bucket(gap_s: f64) -> usize {
    [2.5, 8.0, 20.0, 60.0]
        .iter()
        .filter(|limit| gap_s >= **limit)
        .count()
}

pub(super) fn flag(is: bool) -> f64 {
    f64::from(u8::from(is))
}

pub(super) fn id(name: &str) -> usize {
    FEATURE_NAMES
        .iter()
        .position(|known| *known == name)
        .unwrap_or(FEATURE_NAMES.len() - 1)
}

pub(super) fn push(out: &mut Vec<ActiveFeature>, name: &str, value: f64) {
    if value != 0.0 {
        out.push((id(name), value));
    }
}
