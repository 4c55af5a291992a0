//! Clocks of a trip: sample count, monotonic clock, UTC.

use std::time::Duration;

use chrono::{DateTime, SecondsFormat, Utc};
use jumpseat_core::journal::{JournalRecord, TimeSource};
use jumpseat_values::{ClockOrder, Doubt, Estimate, Rounded, TimeDoubt};
use serde::Serialize;

use super::TimeSettings;
use super::fixes::{TimeFix, TimeFixes};
use super::groups::{RivalFixes, judge};
use super::leap::utc_of_tai;
use super::pieces::pieces;
use super::pulses::pulse_fixes;
use super::sample_clock::FittedSampleClock;
use super::utc_clock::FittedUtcClock;
use crate::{AudioSegment, Trip};

/// What the times of a trip rest on.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct TimeQuality {
    /// Fixes that were believed.
    pub fixes: usize,
    /// Fixes that contradict them, or are of an impossible date, or came far too late.
    pub ignored: usize,
    /// Statements of time that the receiver itself did not call valid.
    pub unconfirmed: usize,
    /// Where the believed ones came from: "nmea", "gpsd", "system", "pulse".
    pub sources: Vec<TimeSource>,
    /// Clock pairs of the sample count.
    pub clock_pairs: usize,
    /// How slow the sound card is against the board's clock, parts per million.
    pub sound_ppm: Option<f64>,
    /// How slow the board's clock is against UTC, parts per million.
    pub board_ppm: Option<f64>,
    /// What a person should know about them.
    pub doubts: Vec<Doubt>,
}

/// Beyond this a time has a doubt: more than sentences alone can explain.
const DOUBTFUL_UNCERTAINTY: Duration = Duration::from_millis(500);
/// A rival with at least this part of the evidence is worth a doubt.
const SERIOUS_RIVAL_WEIGHT: f64 = 0.2;

/// Clocks of a trip: sample count, monotonic clock, UTC.
#[derive(Debug, Clone)]
pub struct Timeline {
    nominal: f64,
    reference_ns: u64,
    samples: FittedSampleClock,
    utc: Option<FittedUtcClock>,
    quality: TimeQuality,
    /// Doubts that every time of the trip shares.
    shared: Vec<Doubt>,
}

impl Timeline {
    /// Resolves the clocks of a trip with the default assumptions.
    pub fn of(trip: &Trip) -> Self {
        Self::with(trip, &[], &TimeSettings::default())
    }

    /// Resolves the clocks of a trip. Of `others`, those of the same power-up of
    /// the same board lend their time fixes, for their monotonic clock is the same.
    pub fn with(trip: &Trip, others: &[&Trip], settings: &TimeSettings) -> Self {
        let same = |other: &&&Trip| {
            let (ours, theirs) = (trip.header(), other.header());
            !ours.boot.is_empty() && ours.boot == theirs.boot && ours.board == theirs.board
        };
        let borrowed = others
            .iter()
            .filter(same)
            .filter(|other| other.id() != trip.id())
            .flat_map(|other| other.records());
        let rate = trip.header().audio.sample_rate;
        Self::resolve(trip.records(), borrowed, trip.segments(), rate, settings)
    }

    /// Resolves the clocks of a journal alone. `sample_rate` is the nominal one.
    pub fn of_records(
        records: &[JournalRecord],
        sample_rate: u32,
        settings: &TimeSettings,
    ) -> Self {
        Self::resolve(records, [].iter(), &[], sample_rate, settings)
    }

    /// Resolves from records, those that others lend, and segments.
    pub(super) fn resolve<'a>(
        records: &'a [JournalRecord],
        borrowed: impl Iterator<Item = &'a JournalRecord> + Clone,
        segments: &[AudioSegment],
        sample_rate: u32,
        settings: &TimeSettings,
    ) -> Self {
        let times = || records.iter().map(|record| record.mono_ns);
        let reference_ns = times().min().unwrap_or(0);
        let end_ns = times().max().unwrap_or(0);
        let nominal = f64::from(sample_rate.max(1));
        let pieces = pieces(records, segments, reference_ns);
        let samples = FittedSampleClock::new(&pieces, nominal, 0.0);
        let all = TimeFixes::of(records.iter().chain(borrowed), settings);
        let mut verdict = judge(&all.fixes, settings);
        let clock = |fixes: &[TimeFix]| FittedUtcClock::new(fixes, reference_ns..=end_ns, settings);
        let mut utc = clock(&verdict.believed);
        let pulses = utc
            .as_ref()
            .map(|rough| pulse_fixes(&all.pulses, rough, settings))
            .unwrap_or_default();
        if !pulses.is_empty() {
            verdict.believed.extend(pulses);
            verdict.believed.sort_by_key(|fix| fix.mono_ns);
            utc = clock(&verdict.believed);
        }

        let mut shared: Vec<Doubt> = verdict
            .rivals
            .iter()
            .filter(|rival| rival.weight >= SERIOUS_RIVAL_WEIGHT)
            .map(|rival| rival_doubt(rival).into())
            .collect();
        let rolled = verdict.believed.iter().filter(|fix| fix.rolled).count();
        if rolled * 2 > verdict.believed.len() {
            shared.push(TimeDoubt::WeekRollover.into());
        }
        if samples.pairs() == 0 {
            shared.push(TimeDoubt::NoClockPair.into());
        }
        if utc.is_none() {
            shared.push(unknown_doubt(&all).into());
        }
        let mut sources: Vec<TimeSource> = Vec::new();
        for fix in &verdict.believed {
            if !sources.contains(&fix.source) {
                sources.push(fix.source);
            }
        }
        let quality = TimeQuality {
            fixes: verdict.believed.len(),
            ignored: all.impossible
                + verdict
                    .rivals
                    .iter()
                    .map(|rival| rival.fixes)
                    .sum::<usize>()
                + utc.as_ref().map_or(0, FittedUtcClock::stragglers),
            unconfirmed: all.unconfirmed,
            sources,
            clock_pairs: samples.pairs(),
            sound_ppm: samples.rate_ppm(nominal),
            board_ppm: utc.as_ref().and_then(FittedUtcClock::rate_ppm),
            doubts: shared.clone(),
        };
        Self {
            nominal,
            reference_ns,
            samples,
            utc,
            quality,
            shared,
        }
    }

    /// UTC of the instant at which a sample was taken.
    pub fn at_sample(&self, sample: u64) -> Estimate<DateTime<Utc>> {
        let (seconds, half) = self.samples.seconds(sample as f64);
        self.estimate(self.mono(seconds), half)
    }

    /// UTC of a monotonic time in nanoseconds.
    pub fn at_mono(&self, mono_ns: u64) -> Estimate<DateTime<Utc>> {
        self.estimate(mono_ns, 0.0)
    }

    /// Monotonic time in nanoseconds at which a sample was taken.
    pub fn mono_of_sample(&self, sample: u64) -> u64 {
        self.mono(self.samples.seconds(sample as f64).0)
    }

    /// The sample that was taken at a monotonic time; 0 before the first.
    pub fn sample_of_mono(&self, mono_ns: u64) -> u64 {
        let ns = i128::from(mono_ns) - i128::from(self.reference_ns);
        // A float turns into the nearest count that there is, 0 for less.
        self.samples.sample(ns as f64 / 1e9).round() as u64
    }

    /// The nominal sample rate, samples per second.
    pub fn sample_rate(&self) -> f64 {
        self.nominal
    }

    /// What the times rest on.
    pub fn quality(&self) -> &TimeQuality {
        &self.quality
    }

    fn mono(&self, seconds: f64) -> u64 {
        let ns = i128::from(self.reference_ns) + (seconds * 1e9).round() as i128;
        u64::try_from(ns.max(0)).unwrap_or(u64::MAX)
    }

    fn estimate(&self, mono_ns: u64, half: f64) -> Estimate<DateTime<Utc>> {
        let mut doubts = self.shared.clone();
        let found = self.utc.as_ref().and_then(|clock| {
            let (tai, known) = clock.at(mono_ns);
            Some((clock, utc_of_tai(tai)?, known))
        });
        let Some((clock, value, known)) = found else {
            if self.utc.is_some() {
                doubts.push(TimeDoubt::Unknown.into());
            }
            return Estimate::new(None, doubts);
        };
        if known.clash > 0.0 {
            let apart_s = Rounded::new(2.0 * known.clash);
            doubts.push(TimeDoubt::Contradiction { apart_s }.into());
        }
        let uncertainty = Duration::try_from_secs_f64(known.half + half).unwrap_or(Duration::MAX);
        if uncertainty > DOUBTFUL_UNCERTAINTY {
            let doubt = TimeDoubt::FarFromFix {
                within_s: Rounded::new(uncertainty.as_secs_f64()),
                away_s: Rounded::new(clock.to_nearest_fix(mono_ns)),
            };
            doubts.push(doubt.into());
        }
        Estimate {
            uncertainty: Some(uncertainty.as_secs_f64()),
            ..Estimate::new(Some(value), doubts)
        }
    }
}

fn rival_doubt(rival: &RivalFixes) -> TimeDoubt {
    TimeDoubt::RivalFixes {
        fixes: rival.fixes,
        apart_s: Rounded::new(rival.ahead_s.abs()),
        order: if rival.ahead_s > 0.0 {
            ClockOrder::Later
        } else {
            ClockOrder::Earlier
        },
    }
}

fn unknown_doubt(all: &TimeFixes) -> TimeDoubt {
    match all.last_unconfirmed {
        Some(utc) => TimeDoubt::NeverFixed {
            thought: utc.to_rfc3339_opts(SecondsFormat::Secs, true),
        },
        None if all.impossible > 0 => TimeDoubt::ImpossibleDates {
            fixes: all.impossible,
        },
        None => TimeDoubt::Unknown,
    }
}
