//! The sample count against the monotonic clock.
//!
//! A clock pair says that by a monotonic time so many samples had arrived.
//! Delivery is late by some milliseconds, sometimes by much more, but never early:
//! the truth is the lower edge of the pairs. Each piece between two losses of
//! sound has its own relation, because the number of lost samples is an estimate.

use super::bounded::hull;

/// Knots are this many seconds of samples apart, straight in between.
const KNOT_S: f64 = 60.0;
/// All pieces together have at most this many and two each; the distance grows.
const MOST_KNOTS: f64 = 4000.0;
/// Pairs up to this many seconds from a knot count.
const WINDOW_S: f64 = 400.0;
/// Two crystals, the sound card's and the board's, of ±100 ppm each.
const STEEPEST_RATE: f64 = 2e-4;
/// What the least delay of a sound device is thought to be, seconds.
const DEVICE_S: f64 = 0.001;
/// How well the first pairs are known while there are few, seconds.
const FEW_S: f64 = 0.02;
/// What is said of a piece without any pair, seconds.
const GUESS_S: f64 = 0.5;

/// At monotonic `seconds`, `sample` samples had arrived.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct SampleClockPair {
    pub sample: f64,
    pub seconds: f64,
}

/// A stretch of sample counts without a loss.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct SamplePiece {
    pub from: f64,
    pub to: f64,
    /// Ascending.
    pub pairs: Vec<SampleClockPair>,
}

/// One point of the fitted clock.
#[derive(Debug, Clone, Copy, PartialEq)]
struct SampleKnot {
    sample: f64,
    seconds: f64,
    half: f64,
}

/// The fitted clock: monotonic seconds of any sample, and the other way.
#[derive(Debug, Clone)]
pub(crate) struct FittedSampleClock {
    /// Strictly ascending in both.
    knots: Vec<SampleKnot>,
    /// Seconds a sample.
    period: f64,
    pairs: usize,
}

impl FittedSampleClock {
    /// Fits pieces that are ascending. `nominal` is in samples a second, `origin`
    /// the monotonic time of sample 0 where no pair says better.
    pub(crate) fn new(pieces: &[SamplePiece], nominal: f64, origin: f64) -> Self {
        let longest = pieces.iter().max_by(|a, b| span(a).total_cmp(&span(b)));
        let rate = longest.map_or(0.0, |piece| slope(piece, nominal));
        let period = (1.0 + rate) / nominal;
        let mut clock = Self {
            knots: Vec::new(),
            period,
            pairs: pieces.iter().map(|piece| piece.pairs.len()).sum(),
        };
        let whole: f64 = pieces.iter().map(|piece| piece.to - piece.from).sum();
        let step = (KNOT_S * nominal).max(whole / MOST_KNOTS);
        for piece in pieces {
            clock.add(piece, step, nominal, rate);
        }
        if clock.knots.is_empty() {
            clock.knots.push(SampleKnot {
                sample: 0.0,
                seconds: origin,
                half: GUESS_S,
            });
        }
        clock
    }

    /// Monotonic seconds of a sample, and half the width in which they lie.
    pub(crate) fn seconds(&self, sample: f64) -> (f64, f64) {
        let after = self.knots.partition_point(|knot| knot.sample <= sample);
        let (before, after) = self.knots_around(after);
        if before == after {
            let away = sample - before.sample;
            let seconds = before.seconds + away * self.period;
            return (
                seconds,
                before.half + away.abs() * self.period * STEEPEST_RATE,
            );
        }
        let part = (sample - before.sample) / (after.sample - before.sample);
        let apart = after.seconds - before.seconds;
        // Where sound was lost the count of lost samples is a guess: the two sides
        // do not fit together by this much.
        let misfit = apart - (after.sample - before.sample) * self.period;
        let half = before.half.max(after.half) + misfit.abs();
        (before.seconds + apart * part, half)
    }

    /// The sample count at monotonic seconds; may be negative.
    pub(crate) fn sample(&self, seconds: f64) -> f64 {
        let after = self.knots.partition_point(|knot| knot.seconds <= seconds);
        let (before, after) = self.knots_around(after);
        if before == after {
            return before.sample + (seconds - before.seconds) / self.period;
        }
        let part = (seconds - before.seconds) / (after.seconds - before.seconds);
        before.sample + (after.sample - before.sample) * part
    }

    /// The sound card's rate error in parts per million of the monotonic clock,
    /// positive when it is slow; `None` without two pairs.
    pub(crate) fn rate_ppm(&self, nominal: f64) -> Option<f64> {
        (self.pairs >= 2).then_some((self.period * nominal - 1.0) * 1e6)
    }

    /// How many pairs it rests on.
    pub(crate) fn pairs(&self) -> usize {
        self.pairs
    }

    /// The knots before and after; the same one twice at the ends.
    fn knots_around(&self, after: usize) -> (SampleKnot, SampleKnot) {
        let only = SampleKnot {
            sample: 0.0,
            seconds: 0.0,
            half: GUESS_S,
        };
        let before = after.checked_sub(1).and_then(|at| self.knots.get(at));
        let after = self.knots.get(after);
        let either = before.or(after).copied().unwrap_or(only);
        (
            before.copied().unwrap_or(either),
            after.copied().unwrap_or(either),
        )
    }

    fn add(&mut self, piece: &SamplePiece, step: f64, nominal: f64, rate: f64) {
        if piece.pairs.is_empty() {
            // The line between its neighbours runs through it.
            return;
        }
        let steps = ((piece.to - piece.from) / step).ceil().max(1.0) as usize;
        for index in 0..=steps {
            let sample = (piece.from + step * index as f64).min(piece.to);
            self.push(resolve(piece, sample, nominal, rate));
        }
    }

    /// Adds a knot, unless it would make time stand still or go back.
    fn push(&mut self, knot: SampleKnot) {
        let later = |last: &SampleKnot| knot.sample > last.sample && knot.seconds > last.seconds;
        if self.knots.last().is_none_or(later) {
            self.knots.push(knot);
        }
    }
}

/// Seconds that the pairs of a piece cover.
fn span(piece: &SamplePiece) -> f64 {
    match (piece.pairs.first(), piece.pairs.last()) {
        (Some(first), Some(last)) => last.seconds - first.seconds,
        _ => 0.0,
    }
}

/// A pair as seen from a knot: seconds of samples away, and how late against the
/// nominal rate.
fn seen(pairs: &[SampleClockPair], sample: f64, seconds: f64, nominal: f64) -> Vec<(f64, f64)> {
    pairs
        .iter()
        .map(|pair| {
            let x = (pair.sample - sample) / nominal;
            (x, pair.seconds - seconds - x)
        })
        .collect()
}

/// The rate error of a whole piece, as a part; 0 where it is too short to tell.
fn slope(piece: &SamplePiece, nominal: f64) -> f64 {
    let Some(first) = piece.pairs.first() else {
        return 0.0;
    };
    lower_slope(&seen(&piece.pairs, first.sample, first.seconds, nominal)).unwrap_or(0.0)
}

/// The slope of the highest line below all points: of the hull the edge under
/// their middle (S. B. Moon, P. Skelly, D. Towsley, "Estimation and removal of
/// clock skew from network delay measurements", INFOCOM 1999). `None` when the
/// points cover less than a minute.
fn lower_slope(points: &[(f64, f64)]) -> Option<f64> {
    const LEAST_S: f64 = 60.0;
    let first = points.first()?;
    let last = points.last()?;
    if last.0 - first.0 < LEAST_S {
        return None;
    }
    let middle = points.iter().map(|point| point.0).sum::<f64>() / points.len() as f64;
    let hull = hull(points.iter().copied());
    let edge = hull
        .windows(2)
        .find(|edge| edge[0].0 <= middle && middle <= edge[1].0)?;
    let slope = (edge[1].1 - edge[0].1) / (edge[1].0 - edge[0].0);
    Some(slope.clamp(-STEEPEST_RATE, STEEPEST_RATE))
}

/// Resolves one knot from the pairs around it; `rate` serves where they are few.
fn resolve(piece: &SamplePiece, sample: f64, nominal: f64, rate: f64) -> SampleKnot {
    let pairs = window(&piece.pairs, sample, WINDOW_S * nominal);
    let base = pairs.first().map_or(0.0, |pair| pair.seconds);
    let points = seen(pairs, sample, base, nominal);
    let slope = lower_slope(&points).unwrap_or(rate);
    let heights = || points.iter().map(|(x, y)| y - slope * x);
    let value = heights().fold(f64::INFINITY, f64::min);
    let mut delays: Vec<f64> = heights().map(|height| height - value).collect();
    delays.sort_by(f64::total_cmp);
    let count = points.len().max(1) as f64;
    let usual = delays.get(delays.len() / 2).copied().unwrap_or(0.0);
    let away = points
        .iter()
        .map(|(x, _)| x.abs())
        .fold(f64::INFINITY, f64::min);
    SampleKnot {
        sample,
        seconds: base + value,
        half: DEVICE_S
            + (FEW_S + 8.0 * usual) / count * (1.0 + 2.0 * lean(&points))
            + STEEPEST_RATE * away,
    }
}

/// How far from the middle of the points 0 is: 0 in the middle, 1 at an end. A
/// line is known best in the middle of what it was fitted to.
fn lean(points: &[(f64, f64)]) -> f64 {
    match (points.first(), points.last()) {
        (Some((from, _)), Some((to, _))) if to > from => ((from + to) / (to - from)).abs(),
        _ => 1.0,
    }
}

/// The pairs within `reach` samples of the nearest on each side.
fn window(pairs: &[SampleClockPair], sample: f64, reach: f64) -> &[SampleClockPair] {
    let after = pairs.partition_point(|pair| pair.sample < sample);
    let before = after.checked_sub(1).and_then(|at| pairs.get(at));
    let from = before.map_or(sample, |pair| pair.sample) - reach;
    let to = pairs.get(after).map_or(sample, |pair| pair.sample) + reach;
    let first = pairs.partition_point(|pair| pair.sample < from);
    let last = pairs.partition_point(|pair| pair.sample <= to);
    pairs.get(first..last).unwrap_or(&[])
}
