//! How two events are related: whether the dial moved, whether they name one station.

use crate::cut::DriveEvent;

/// See [`moved`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum DialMove {
    No,
    Near,
    Far,
}

/// How far the dial moved from one event to the other. The most that people move to
/// get away from others on the channel is about 10 kHz (common practice).
pub(super) fn moved(before: &DriveEvent, event: &DriveEvent) -> DialMove {
    match (&before.dial, &event.dial) {
        (Some(one), Some(other)) if one.mode != other.mode => DialMove::Far,
        (Some(one), Some(other)) => match one.hz.abs_diff(other.hz) {
            0..=500 => DialMove::No,
            // A repeater: the dial shows another frequency while the key is down.
            _ if one.mode == "FM" && before.direction != event.direction => DialMove::No,
            501..=10_000 => DialMove::Near,
            _ => DialMove::Far,
        },
        _ => DialMove::No,
    }
}

/// How surely some station was named in it.
pub(super) fn best(event: &DriveEvent) -> f64 {
    event.others.values().copied().fold(0.0, f64::max)
}

/// How far two events name the same station.
pub(super) fn alike(one: &DriveEvent, other: &DriveEvent) -> f64 {
    let shared = one.others.iter().map(|(sign, share)| {
        let near = other
            .others
            .iter()
            .filter(|(text, _)| crate::sign_distance::distance(sign, text) <= 1);
        share * near.map(|(_, share)| *share).fold(0.0, f64::max)
    });
    shared.fold(0.0, f64::max)
}
