//! Which setting the dial had at a time, and when two settings are the same.

use jumpseat_values::DialSetting;

use crate::drive::DialChange;

/// The setting at trip time `at_s`; `None` when rig control had said nothing.
pub(crate) fn setting_at(changes: &[DialChange], at_s: f64) -> Option<&DialSetting> {
    let later = changes.partition_point(|change| change.at_s <= at_s);
    changes[..later].last()?.setting.as_ref()
}

/// Whether a contact can go on from one setting to the other. What is not
/// known stands in nobody's way.
pub(crate) fn same_channel(
    one: Option<&DialSetting>,
    other: Option<&DialSetting>,
    nudge_hz: u64,
) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => one.mode == other.mode && one.hz.abs_diff(other.hz) <= nudge_hz,
        _ => true,
    }
}
