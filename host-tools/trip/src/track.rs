//! The track of a trip: the place at any instant, between its position fixes.

use std::time::Duration;

use jumpseat_core::journal::JournalEvent;
use jumpseat_values::{Estimate, PlaceDoubt, Position, Rounded};

use crate::Trip;

/// Fixes further apart in time than this have a doubt between them.
const MOST_FIX_GAP: Duration = Duration::from_secs(10);

/// Without a fix for longer than this a drawn line would not follow the road (common
/// sense).
const MOST_LINE_GAP_NS: u64 = 60_000_000_000;

/// No vehicle of ours is faster: a lone fix that would need more is a jump of
/// the receiver.
const FASTEST_MPS: f64 = 150.0;

/// A receiver's own error per unit of dilution of precision, and where it gives none.
/// Common practice.
const METRES_PER_HDOP: f64 = 5.0;
const METRES_UNTOLD: f64 = 15.0;

/// Mean radius of the Earth (IUGG).
const EARTH_M: f64 = 6_371_008.8;

#[derive(Debug, Clone, Copy)]
struct TrackFix {
    mono_ns: u64,
    at: Position,
    error_m: f64,
}

/// Every position fix of a trip that can be trusted.
#[derive(Debug, Clone)]
pub struct Track {
    fixes: Vec<TrackFix>,
    unconfirmed: usize,
}

impl Track {
    /// The track of a trip. Fixes that the receiver itself did not call valid, and
    /// lone jumps that no vehicle can make, are left out.
    pub fn of(trip: &Trip) -> Self {
        let mut fixes = Vec::new();
        let mut unconfirmed = 0;
        for record in trip.records() {
            if let JournalEvent::PositionFix {
                lat,
                lon,
                hdop,
                valid,
                ..
            } = record.event
            {
                if !valid {
                    unconfirmed += 1;
                    continue;
                }
                // The journal's reader lets no other through.
                let Some(at) = Position::new(lat, lon) else {
                    continue;
                };
                fixes.push(TrackFix {
                    mono_ns: record.mono_ns,
                    at,
                    error_m: hdop.map_or(METRES_UNTOLD, |hdop| {
                        METRES_PER_HDOP * f64::from(hdop).clamp(0.5, 100.0)
                    }),
                });
            }
        }
        fixes.sort_by_key(|fix| fix.mono_ns);
        fixes.dedup_by_key(|fix| fix.mono_ns);
        Self {
            fixes: without_jumps(&fixes),
            unconfirmed,
        }
    }

    /// How many fixes the track is made of.
    pub fn fixes(&self) -> usize {
        self.fixes.len()
    }

    /// Monotonic time and place of every fix, ascending.
    pub fn points(&self) -> impl Iterator<Item = (u64, Position)> + '_ {
        self.fixes.iter().map(|fix| (fix.mono_ns, fix.at))
    }

    /// The fixes as lines to draw, broken where there is none for more than a minute.
    pub fn lines(&self) -> Vec<Vec<(u64, Position)>> {
        let near = |one: &TrackFix, next: &TrackFix| next.mono_ns - one.mono_ns <= MOST_LINE_GAP_NS;
        let point = |fix: &TrackFix| (fix.mono_ns, fix.at);
        let lines = self.fixes.chunk_by(near);
        lines.map(|line| line.iter().map(point).collect()).collect()
    }

    /// The place at a monotonic time: on the straight line between the fixes
    /// around it; before the first and after the last fix, that fix.
    pub fn at_mono(&self, mono_ns: u64) -> Estimate<Position> {
        let after = self.fixes.partition_point(|fix| fix.mono_ns < mono_ns);
        let before = after.checked_sub(1).and_then(|at| self.fixes.get(at));
        match (before, self.fixes.get(after)) {
            (None, None) => self.nowhere(),
            (None, Some(first)) => beside(*first, mono_ns, |away_s| PlaceDoubt::BeforeFirstFix {
                away_s,
            }),
            (Some(last), None) => {
                beside(*last, mono_ns, |away_s| PlaceDoubt::AfterLastFix { away_s })
            }
            (Some(before), Some(after)) => between(*before, *after, mono_ns),
        }
    }

    fn nowhere(&self) -> Estimate<Position> {
        Estimate::unknown(match self.unconfirmed {
            0 => PlaceDoubt::NoFix,
            invalid => PlaceDoubt::NoValidFix { invalid },
        })
    }
}

fn seconds(from: u64, to: u64) -> Duration {
    Duration::from_nanos(from.abs_diff(to))
}

/// Only one side has a fix: the vehicle may have gone any way since.
fn beside(fix: TrackFix, mono_ns: u64, doubt: fn(u64) -> PlaceDoubt) -> Estimate<Position> {
    const ROAD_MPS: f64 = 40.0;
    let away = seconds(fix.mono_ns, mono_ns);
    let mut doubts = Vec::new();
    if away > MOST_FIX_GAP {
        doubts.push(doubt(away.as_secs()).into());
    }
    Estimate {
        uncertainty: Some(fix.error_m + ROAD_MPS * away.as_secs_f64()),
        ..Estimate::new(Some(fix.at), doubts)
    }
}

fn between(before: TrackFix, after: TrackFix, mono_ns: u64) -> Estimate<Position> {
    let whole = seconds(before.mono_ns, after.mono_ns);
    let part = seconds(before.mono_ns, mono_ns).as_secs_f64() / whole.as_secs_f64();
    let apart = metres(before.at, after.at);
    let mut doubts = Vec::new();
    let mut bend = 0.0;
    if whole > MOST_FIX_GAP {
        let doubt = PlaceDoubt::BetweenFixes {
            gap_s: whole.as_secs(),
            apart_km: Rounded::new(apart / 1000.0),
        };
        doubts.push(doubt.into());
        // A road between two points strays from the straight line by a good part
        // of their distance. Common sense, not a bound.
        bend = apart / 2.0;
    }
    Estimate {
        uncertainty: Some(before.error_m.max(after.error_m) + bend),
        ..Estimate::new(Some(along(before.at, after.at, part)), doubts)
    }
}

/// The point at `part` (0 to 1) of the way, the short way round the globe.
fn along(from: Position, to: Position, part: f64) -> Position {
    let turn = wrap(to.lon() - from.lon());
    let lat = from.lat() + (to.lat() - from.lat()) * part;
    // A point between two others is on the globe, but for rounding at a pole.
    Position::new(lat.clamp(-90.0, 90.0), wrap(from.lon() + turn * part)).unwrap_or(from)
}

/// Brings a longitude or a difference of two into -180 to 180.
fn wrap(degrees: f64) -> f64 {
    if degrees > 180.0 {
        degrees - 360.0
    } else if degrees < -180.0 {
        degrees + 360.0
    } else {
        degrees
    }
}

/// Great-circle distance on a sphere (haversine).
fn metres(a: Position, b: Position) -> f64 {
    let half_lat = (b.lat() - a.lat()).to_radians() / 2.0;
    let half_lon = (b.lon() - a.lon()).to_radians() / 2.0;
    let h = half_lat.sin().powi(2)
        + a.lat().to_radians().cos() * b.lat().to_radians().cos() * half_lon.sin().powi(2);
    2.0 * EARTH_M * h.clamp(0.0, 1.0).sqrt().asin()
}

/// Leaves out each fix that is too far from both neighbours, which themselves agree.
fn without_jumps(fixes: &[TrackFix]) -> Vec<TrackFix> {
    let reachable = |a: &TrackFix, b: &TrackFix| {
        let time = seconds(a.mono_ns, b.mono_ns).as_secs_f64();
        metres(a.at, b.at) <= FASTEST_MPS * time + a.error_m + b.error_m
    };
    let jumped = |at: usize| {
        let (Some(fix), Some(next)) = (fixes.get(at), fixes.get(at + 1)) else {
            return false;
        };
        let before = at.checked_sub(1).and_then(|at| fixes.get(at));
        before.is_some_and(|before| {
            !reachable(before, fix) && !reachable(fix, next) && reachable(before, next)
        })
    };
    fixes
        .iter()
        .enumerate()
        .filter(|(at, _)| !jumped(*at))
        .map(|(_, fix)| *fix)
        .collect()
}
