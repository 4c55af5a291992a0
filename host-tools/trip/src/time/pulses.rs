//! Which second a pulse began.
//!
//! A pulse marks exactly the beginning of a second, but not of which second. The clock
//! that was fitted without pulses decides that where it allows only one.

use jumpseat_core::journal::TimeSource;

use super::TimeSettings;
use super::bounded::usual_slope;
use super::fixes::{TimeFix, seconds_apart};
use super::leap::TAI_SECOND_NS;
use super::utc_clock::FittedUtcClock;

/// A pulse is compared with up to this many on either side,
const PULSE_NEIGHBOURS: usize = 10;
/// as long as they are no more than this many seconds away,
const PULSES_NEAR_S: f64 = 200.0;
/// and so many must agree, itself included.
const LEAST_AGREEING_PULSES: usize = 3;

/// The pulses that can be placed, as fixes. Edges that are no pulse (a loose wire,
/// a receiver without a fix) do not agree with the rest and are left out.
pub(crate) fn pulse_fixes(
    pulses: &[u64],
    rough: &FittedUtcClock,
    settings: &TimeSettings,
) -> Vec<TimeFix> {
    let latency = settings.latency(TimeSource::Pulse, None);
    let placed: Vec<TimeFix> = pulses
        .iter()
        .filter_map(|&mono_ns| {
            let (tai, known) = rough.at(mono_ns);
            Some(TimeFix {
                mono_ns,
                offset_ns: only_second(tai, known.half, latency)? - i128::from(mono_ns),
                low: latency.0,
                high: latency.1,
                source: TimeSource::Pulse,
                confirmed: true,
                rolled: false,
            })
        })
        .collect();
    steady(&placed, latency.1 - latency.0, settings.wander)
}

/// Those that most of their neighbours bear out: seconds follow each other evenly.
fn steady(placed: &[TimeFix], width: f64, wander: f64) -> Vec<TimeFix> {
    let Some(first) = placed.first() else {
        return Vec::new();
    };
    let points: Vec<(f64, f64)> = placed
        .iter()
        .map(|fix| {
            let x = (fix.mono_ns - first.mono_ns) as f64 / 1e9;
            (x, seconds_apart(fix.offset_ns, first.offset_ns))
        })
        .collect();
    let rate = usual_slope(&points);
    let bears_out = |a: &(f64, f64), b: &(f64, f64)| {
        let apart = b.1 - a.1 - rate * (b.0 - a.0);
        apart.abs() <= width + 2.0 * wander * (b.0 - a.0).abs()
    };
    let kept = points.iter().enumerate().filter(|(index, point)| {
        let from = index.saturating_sub(PULSE_NEIGHBOURS);
        let to = (index + PULSE_NEIGHBOURS + 1).min(points.len());
        let near: Vec<bool> = points[from..to]
            .iter()
            .filter(|other| (other.0 - point.0).abs() <= PULSES_NEAR_S)
            .map(|other| bears_out(point, other))
            .collect();
        // Itself is one of them.
        let agreeing = near.iter().filter(|agrees| **agrees).count();
        agreeing >= LEAST_AGREEING_PULSES && agreeing * 2 > near.len()
    });
    kept.map(|(index, _)| placed[index]).collect()
}

/// The one whole second of TAI, in nanoseconds, that can have begun when it was
/// `tai`, give or take `half` seconds, and a pulse is late by `latency`.
fn only_second(tai: i128, half: f64, latency: (f64, f64)) -> Option<i128> {
    if half > 1.0 {
        return None;
    }
    let least = tai - ((half + latency.1) * 1e9) as i128;
    let most = tai + ((half - latency.0) * 1e9) as i128;
    let second = most.div_euclid(TAI_SECOND_NS) * TAI_SECOND_NS;
    (second >= least && second - TAI_SECOND_NS < least).then_some(second)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(tai_s: f64, half: f64, expected: Option<i128>) {
        let tai = (tai_s * 1e9) as i128;
        let found = only_second(tai, half, (0.0, 0.001));
        assert_eq!(found, expected.map(|second| second * TAI_SECOND_NS));
    }

    #[test]
    fn a_pulse_is_placed_where_one_second_fits_and_nowhere_else() {
        check(100.0, 0.3, Some(100));
        check(100.29, 0.3, Some(100));
        check(99.71, 0.3, Some(100));
        // In the middle of a second: no pulse of a receiver.
        check(100.5, 0.3, None);
        // Two seconds fit.
        check(100.5, 0.6, None);
        check(100.0, 20.0, None);
        // As late as a pulse may be.
        check(100.001, 0.0, Some(100));
        check(100.002, 0.0, None);
    }
}
