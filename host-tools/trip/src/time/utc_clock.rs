//! The monotonic clock against UTC (in TAI), over a whole trip.

use std::ops::RangeInclusive;

use jumpseat_core::journal::TimeSource;

use super::TimeSettings;
use super::bounded::{LineBound, LineFit, fit, usual_slope};
use super::fixes::{TimeFix, seconds_apart};

/// The clock is resolved at knots this many seconds apart, straight in between.
const KNOT_S: f64 = 30.0;
/// A trip of any length has at most this many; the distance grows.
const MOST_KNOTS: f64 = 4000.0;
/// Fixes up to this many seconds away (beyond the nearest on each side) count.
const WINDOW_S: f64 = 1800.0;
/// Of the fixes in a window one in so many may be left out as a straggler.
const FIXES_PER_STRAGGLER: usize = 50;
/// Reading and rounding, seconds: what no bound covers.
const GRAIN_S: f64 = 0.0005;
/// The same where there are only sentences: a bound on their lateness is no wall,
/// and one that is a little later than the latest need not contradict the others.
const SENTENCE_GRAIN_S: f64 = 0.01;

/// What is known of UTC at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct KnownOffset {
    /// TAI minus monotonic time, seconds above the clock's base.
    pub offset: f64,
    /// Half the width of the interval, seconds.
    pub half: f64,
    /// By how much the fixes around it contradict each other, seconds.
    pub clash: f64,
}

/// The fitted clock.
#[derive(Debug, Clone)]
pub(crate) struct FittedUtcClock {
    reference_ns: u64,
    base_ns: i128,
    observed: Vec<ObservedOffset>,
    knots: Vec<(f64, KnownOffset)>,
    rate_error: f64,
    wander: f64,
    stragglers: usize,
}

/// A fix relative to reference and base.
#[derive(Debug, Clone, Copy)]
struct ObservedOffset {
    x: f64,
    low: f64,
    high: f64,
    sentence: bool,
    straggler: bool,
}

impl FittedUtcClock {
    /// Fits fixes that agree and are ascending in time, for the given stretch of
    /// monotonic time. `None` without fixes.
    pub(crate) fn new(
        fixes: &[TimeFix],
        span_ns: RangeInclusive<u64>,
        settings: &TimeSettings,
    ) -> Option<Self> {
        let first = fixes.first()?;
        let mut clock = Self {
            reference_ns: first.mono_ns,
            base_ns: first.offset_ns,
            observed: Vec::with_capacity(fixes.len()),
            knots: Vec::new(),
            rate_error: settings.rate_error,
            wander: settings.wander,
            stragglers: 0,
        };
        for fix in fixes {
            let offset = seconds_apart(fix.offset_ns, first.offset_ns);
            clock.observed.push(ObservedOffset {
                x: clock.x(fix.mono_ns),
                low: offset + fix.low,
                high: offset + fix.high,
                sentence: matches!(fix.source, TimeSource::Nmea | TimeSource::Gpsd),
                straggler: false,
            });
        }
        let from = clock.x(*span_ns.start());
        let to = clock.x(*span_ns.end()).max(from);
        let step = KNOT_S.max((to - from) / MOST_KNOTS);
        let steps = ((to - from) / step).ceil() as usize;
        for index in 0..=steps {
            let x = from + step * index as f64;
            let known = clock.resolve(x)?;
            clock.knots.push((x, known));
        }
        clock.stragglers = clock.observed.iter().filter(|fix| fix.straggler).count();
        Some(clock)
    }

    /// TAI in nanoseconds at a monotonic time, and how well it is known.
    pub(crate) fn at(&self, mono_ns: u64) -> (i128, KnownOffset) {
        let known = self.known(self.x(mono_ns));
        let tai = i128::from(mono_ns) + self.base_ns + (known.offset * 1e9).round() as i128;
        (tai, known)
    }

    /// Seconds from a monotonic time to the nearest fix.
    pub(crate) fn to_nearest_fix(&self, mono_ns: u64) -> f64 {
        let x = self.x(mono_ns);
        let after = self.observed.partition_point(|fix| fix.x < x);
        let near = |at: Option<&ObservedOffset>| at.map_or(f64::INFINITY, |fix| (fix.x - x).abs());
        let before = after.checked_sub(1).and_then(|at| self.observed.get(at));
        near(before).min(near(self.observed.get(after)))
    }

    /// Fixes that were left out as too late.
    pub(crate) fn stragglers(&self) -> usize {
        self.stragglers
    }

    /// The monotonic clock's mean rate error over the trip, parts per million,
    /// positive when it is slow.
    pub(crate) fn rate_ppm(&self) -> Option<f64> {
        let (from, first) = self.knots.first()?;
        let (to, last) = self.knots.last()?;
        (to - from > WINDOW_S / 3.0).then(|| (last.offset - first.offset) / (to - from) * 1e6)
    }

    fn x(&self, mono_ns: u64) -> f64 {
        (i128::from(mono_ns) - i128::from(self.reference_ns)) as f64 / 1e9
    }

    fn known(&self, x: f64) -> KnownOffset {
        let after = self.knots.partition_point(|(knot, _)| *knot <= x);
        let before = after.saturating_sub(1);
        match (self.knots.get(before), self.knots.get(after)) {
            (Some((from, a)), Some((to, b))) if *from <= x && x < *to => {
                let part = (x - from) / (to - from);
                let bend = self.wander * (x - from).min(to - x);
                KnownOffset {
                    offset: a.offset + (b.offset - a.offset) * part,
                    half: a.half.max(b.half) + bend,
                    clash: a.clash.max(b.clash),
                }
            }
            // Before the first or after the last knot: its rate is only known to
            // be within limits.
            (Some((knot, known)), _) => KnownOffset {
                half: known.half + self.rate_error * (x - knot).abs(),
                ..*known
            },
            (None, _) => KnownOffset {
                offset: 0.0,
                half: f64::INFINITY,
                clash: 0.0,
            },
        }
    }

    /// Fits the fixes around `x`, leaving out stragglers where they contradict
    /// the rest.
    fn resolve(&mut self, x: f64) -> Option<KnownOffset> {
        let window = self.window(x);
        self.trim(window.clone());
        let mut spare = window.len() / FIXES_PER_STRAGGLER + 1;
        let sentences = self.observed[window.clone()].iter().all(|fix| fix.sentence);
        let grain = if sentences { SENTENCE_GRAIN_S } else { GRAIN_S };
        loop {
            let bounds = self.bounds(window.clone(), x);
            match fit(&bounds, self.rate_error)? {
                LineFit::Within(low, high) => {
                    return Some(KnownOffset {
                        offset: (low + high) / 2.0,
                        half: (high - low) / 2.0 + grain,
                        clash: 0.0,
                    });
                }
                LineFit::Contradiction { slope, .. } if spare > 0 && bounds.len() > 2 => {
                    spare -= 1;
                    self.leave_out(window.clone(), x, slope);
                }
                LineFit::Contradiction { value, excess, .. } => {
                    return Some(KnownOffset {
                        offset: value,
                        half: excess + narrowest(&bounds) / 2.0 + grain,
                        clash: excess,
                    });
                }
            }
        }
    }

    /// The fixes that count at `x`: [`WINDOW_S`] beyond the nearest on each side.
    fn window(&self, x: f64) -> std::ops::Range<usize> {
        let after = self.observed.partition_point(|fix| fix.x < x);
        let nearest_before = after.checked_sub(1).map_or(x, |at| self.observed[at].x);
        let nearest_after = self.observed.get(after).map_or(x, |fix| fix.x);
        let from = nearest_before - WINDOW_S;
        let to = nearest_after + WINDOW_S;
        let first = self.observed.partition_point(|fix| fix.x < from);
        let last = self.observed.partition_point(|fix| fix.x <= to);
        first..last
    }

    fn bounds(&self, window: std::ops::Range<usize>, x: f64) -> Vec<LineBound> {
        self.observed[window]
            .iter()
            .filter(|fix| !fix.straggler)
            .map(|fix| {
                // A rate that changes makes a line less of a guide the further away.
                let bend = self.wander * (fix.x - x).abs();
                LineBound {
                    x: fix.x - x,
                    low: fix.low - bend,
                    high: fix.high + bend,
                }
            })
            .collect()
    }

    /// Leaves out the latest one in so many of a window's sentences: some receivers
    /// now and then are later than any bound, which need not contradict the rest
    /// and yet would pull the time towards it.
    fn trim(&mut self, window: std::ops::Range<usize>) {
        let mut sentences: Vec<&mut ObservedOffset> = self.observed[window]
            .iter_mut()
            .filter(|fix| fix.sentence)
            .collect();
        let left_out = sentences.iter().filter(|fix| fix.straggler).count();
        let spare = (sentences.len() / FIXES_PER_STRAGGLER).saturating_sub(left_out);
        if spare == 0 {
            return;
        }
        sentences.retain(|fix| !fix.straggler);
        let points: Vec<(f64, f64)> = sentences.iter().map(|fix| (fix.x, fix.high)).collect();
        let slope = usual_slope(&points);
        let level = |fix: &ObservedOffset| fix.high - slope * fix.x;
        sentences.sort_by(|a, b| level(a).total_cmp(&level(b)));
        for fix in sentences.into_iter().take(spare) {
            fix.straggler = true;
        }
    }

    /// Leaves out what in a window contradicts the rest. Sentences can be later
    /// than any bound but never earlier, so it is the lowest ceiling, or both
    /// where the line hangs between two; failing that, it is what is furthest from
    /// the middle, of pulses and system clock where there are any.
    fn leave_out(&mut self, window: std::ops::Range<usize>, x: f64, slope: f64) {
        const SAME_S: f64 = 1e-6;
        let wander = self.wander;
        let level = |fix: &ObservedOffset, y: f64| y - slope * (fix.x - x);
        let ceiling = |fix: &ObservedOffset| level(fix, fix.high) + wander * (fix.x - x).abs();
        let height = |fix: &ObservedOffset| level(fix, (fix.high + fix.low) / 2.0);
        let mut left: Vec<&mut ObservedOffset> = self.observed[window]
            .iter_mut()
            .filter(|fix| !fix.straggler)
            .collect();
        let exact = left.iter().any(|fix| !fix.sentence);
        let counts = |fix: &ObservedOffset| !(exact && fix.sentence);
        let heights = left.iter().filter(|fix| counts(fix));
        let mut heights: Vec<f64> = heights.map(|fix| height(fix)).collect();
        heights.sort_by(f64::total_cmp);
        let middle = heights.get(heights.len() / 2).copied().unwrap_or(0.0);
        let lowest = left
            .iter()
            .map(|fix| ceiling(fix))
            .fold(f64::INFINITY, f64::min);
        let mut found = false;
        for fix in &mut left {
            if fix.sentence && ceiling(fix) <= lowest + SAME_S {
                fix.straggler = true;
                found = true;
            }
        }
        let far = |fix: &ObservedOffset| (height(fix) - middle).abs();
        let candidates = left.iter_mut().filter(|fix| counts(fix));
        let furthest = candidates.max_by(|a, b| far(a).total_cmp(&far(b)));
        if let Some(fix) = furthest.filter(|_| !found) {
            fix.straggler = true;
        }
    }
}

fn narrowest(bounds: &[LineBound]) -> f64 {
    bounds
        .iter()
        .map(|bound| bound.high - bound.low)
        .fold(f64::INFINITY, f64::min)
}
