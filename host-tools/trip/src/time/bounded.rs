//! A straight line through bounds: where can it be at x = 0?
//!
//! Each observation says that the line lies between two values at its x. The
//! lines that satisfy all of them, with a slope within limits, form a convex set;
//! its extent at x = 0 is an interval in which the truth lies for certain, as long
//! as the bounds hold. That is what makes a stated uncertainty honest: nothing is
//! assumed of how errors are distributed within their bounds.

/// At `x` (seconds from the point asked for) the line lies in `low..=high`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LineBound {
    pub x: f64,
    pub low: f64,
    pub high: f64,
}

/// The outcome of a fit at x = 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum LineFit {
    /// Between these values.
    Within(f64, f64),
    /// No line satisfies all bounds. `slope` and `value` come nearest: every
    /// bound would have to give way by `excess` on its worse side.
    Contradiction { slope: f64, value: f64, excess: f64 },
}

/// Steps of the searches below; each leaves two thirds of the interval.
const SEARCH_STEPS: usize = 60;

/// Bounds that miss each other by less, in seconds, meet: it is the arithmetic's
/// rounding, a thousand times below the nanosecond that the clocks count in.
const ROUNDING_S: f64 = 1e-12;

/// Fits bounds that are ascending in `x`; `None` without any. The slope is within
/// ±`steepest`.
pub(crate) fn fit(bounds: &[LineBound], steepest: f64) -> Option<LineFit> {
    if bounds.is_empty() {
        return None;
    }
    // For a given slope only the extreme points matter, and these are on the hulls.
    let lows = hull(bounds.iter().map(|bound| (bound.x, -bound.low)));
    let highs = hull(bounds.iter().map(|bound| (bound.x, bound.high)));
    let floor = |slope: f64| -lowest(&lows, -slope);
    let ceiling = |slope: f64| lowest(&highs, slope);
    let clash = |slope: f64| floor(slope) - ceiling(slope);

    let best = minimum(-steepest, steepest, clash);
    let excess = clash(best);
    if excess > ROUNDING_S {
        return Some(LineFit::Contradiction {
            slope: best,
            value: (floor(best) + ceiling(best)) / 2.0,
            excess: excess / 2.0,
        });
    }
    let least = edge(best, -steepest, clash);
    let most = edge(best, steepest, clash);
    let lowest_value = floor(minimum(least, most, floor));
    let highest_value = ceiling(minimum(least, most, |slope| -ceiling(slope)));
    Some(LineFit::Within(
        lowest_value,
        highest_value.max(lowest_value),
    ))
}

/// Least value at x = 0 of the lines of one slope through the points.
fn lowest(points: &[(f64, f64)], slope: f64) -> f64 {
    points
        .iter()
        .map(|(x, y)| y - slope * x)
        .fold(f64::INFINITY, f64::min)
}

/// Where a convex function has its minimum in an interval.
fn minimum(mut from: f64, mut to: f64, of: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..SEARCH_STEPS {
        let third = (to - from) / 3.0;
        if of(from + third) <= of(to - third) {
            to -= third;
        } else {
            from += third;
        }
    }
    (from + to) / 2.0
}

/// How far from `inside`, where a convex function is not positive, towards
/// `outside` it stays so.
fn edge(inside: f64, outside: f64, of: impl Fn(f64) -> f64) -> f64 {
    if of(outside) <= 0.0 {
        return outside;
    }
    let (mut inside, mut outside) = (inside, outside);
    for _ in 0..SEARCH_STEPS {
        let middle = (inside + outside) / 2.0;
        if of(middle) <= 0.0 {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    inside
}

/// The lower convex hull of points ascending in x (Andrew's monotone chain, 1979).
pub(crate) fn hull(points: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    let mut hull: Vec<(f64, f64)> = Vec::new();
    for point in points {
        while let [.., before, last] = hull.as_slice() {
            let turn = (last.0 - before.0) * (point.1 - before.1)
                - (last.1 - before.1) * (point.0 - before.0);
            if turn > 0.0 {
                break;
            }
            hull.pop();
        }
        match hull.last_mut() {
            Some(last) if last.0 == point.0 => last.1 = last.1.min(point.1),
            _ => hull.push(point),
        }
    }
    hull
}

/// The median slope over half of the points (after Theil and Sen: up to a quarter
/// of the points may be anywhere).
pub(crate) fn usual_slope(points: &[(f64, f64)]) -> f64 {
    let (earlier, later) = points.split_at(points.len() / 2);
    let mut slopes: Vec<f64> = earlier
        .iter()
        .zip(later)
        .filter(|(a, b)| b.0 > a.0)
        .map(|(a, b)| (b.1 - a.1) / (b.0 - a.0))
        .collect();
    slopes.sort_by(f64::total_cmp);
    slopes.get(slopes.len() / 2).copied().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const STEEPEST: f64 = 2e-4;

    fn bound(x: f64, low: f64, high: f64) -> LineBound {
        LineBound { x, low, high }
    }

    #[track_caller]
    fn check(bounds: &[LineBound], low: f64, high: f64) {
        match fit(bounds, STEEPEST) {
            Some(LineFit::Within(from, to)) => assert!(
                (from - low).abs() < 1e-9 && (to - high).abs() < 1e-9,
                "{from} {to}"
            ),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn intervals_by_hand() {
        // One observation here: its bounds are the answer.
        check(&[bound(0.0, 1.0, 2.0)], 1.0, 2.0);
        // One observation 1000 s away: the slope may add 0.2 on either side.
        check(&[bound(1000.0, 1.0, 2.0)], 0.8, 2.2);
        // Two at the same place: their common part.
        check(&[bound(0.0, 1.0, 2.0), bound(0.0, 1.5, 3.0)], 1.5, 2.0);
        // On both sides, exact: the line through them.
        check(
            &[bound(-10.0, 1.0, 1.0), bound(30.0, 1.004, 1.004)],
            1.001,
            1.001,
        );
    }

    #[test]
    fn without_observations_nothing_is_known() {
        assert_eq!(fit(&[], STEEPEST), None);
    }

    #[test]
    fn a_contradiction_says_how_far_bounds_must_give_way() {
        match fit(&[bound(0.0, 1.0, 1.0), bound(0.0, 3.0, 3.0)], STEEPEST) {
            Some(LineFit::Contradiction { value, excess, .. }) => {
                assert!((value - 2.0).abs() < 1e-9 && (excess - 1.0).abs() < 1e-9);
            }
            other => panic!("{other:?}"),
        }
    }

    proptest! {
        #[test]
        fn the_truth_is_inside_and_the_interval_is_no_wider_than_it_must_be(
            slope in -1e-4..1e-4_f64,
            value in -1.0..1.0_f64,
            seen in proptest::collection::vec((-2000.0..2000.0_f64, 0.0..0.5_f64, 0.0..0.5_f64), 1..60),
        ) {
            let mut bounds: Vec<LineBound> = seen
                .iter()
                .map(|&(x, below, above)| {
                    let y = value + slope * x;
                    bound(x, y - below, y + above)
                })
                .collect();
            bounds.sort_by(|a, b| a.x.total_cmp(&b.x));
            let Some(LineFit::Within(low, high)) = fit(&bounds, STEEPEST) else {
                return Err(TestCaseError::fail("the true line satisfies all bounds"));
            };
            prop_assert!(low <= value + 1e-9 && value <= high + 1e-9);
            // Each end can be reached, and nothing beyond it.
            for (at, possible) in [(low + 1e-7, true), (high - 1e-7, true), (low - 1e-6, false), (high + 1e-6, false)] {
                if possible && high - low < 1e-6 {
                    continue;
                }
                let mut pinned = bounds.clone();
                let place = pinned.partition_point(|b| b.x < 0.0);
                pinned.insert(place, bound(0.0, at, at));
                let within = matches!(fit(&pinned, STEEPEST), Some(LineFit::Within(..)));
                // Pinned to a point the fit may miss by its own rounding.
                let near = matches!(
                    fit(&pinned, STEEPEST),
                    Some(LineFit::Contradiction { excess, .. }) if excess < 1e-8
                );
                prop_assert_eq!(within || near, possible, "{} in {}..{}", at, low, high);
            }
        }
    }
}
