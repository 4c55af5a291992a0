//! Simulated clocks: does the truth lie where we say, and how near is the value?

mod world;

use chrono::{DateTime, Utc};
use proptest::prelude::*;

use super::{TimeSettings, Timeline};
use world::{Dice, Latency, Trouble, World};

/// Errors (seconds) and hits of many asked times.
#[derive(Default)]
struct Tally {
    errors: Vec<f64>,
    asked: usize,
    inside: usize,
    widest: f64,
}

impl Tally {
    fn add(&mut self, world: &World, dice: &mut Dice, times: usize) {
        let records = world.records();
        let timeline = Timeline::of_records(&records, 16_000, &world.settings);
        for _ in 0..times {
            let truth_s = dice.between(0.0, world.length_s);
            let sample = world.sample_at(truth_s);
            let estimate = timeline.at_sample(sample);
            let value = estimate.value.expect("a value, for there were fixes");
            let half = estimate.uncertainty.unwrap().as_secs_f64();
            let error = (value - world.utc_at(truth_s)).as_seconds_f64();
            self.asked += 1;
            self.inside += usize::from(error.abs() <= half);
            self.widest = self.widest.max(half);
            self.errors.push(error.abs());
        }
    }

    fn median_ms(&mut self) -> f64 {
        self.errors.sort_by(f64::total_cmp);
        self.errors[self.errors.len() / 2] * 1e3
    }

    fn coverage(&self) -> f64 {
        self.inside as f64 / self.asked as f64
    }
}

/// Drives `trips` simulated trips and compares with the promises of the design.
#[track_caller]
fn check(name: &str, trips: u64, most_median_ms: f64, make: impl Fn(&mut Dice) -> World) {
    let mut tally = Tally::default();
    for seed in 0..trips {
        let mut dice = Dice::new(seed);
        let world = make(&mut dice);
        tally.add(&world, &mut dice, 40);
    }
    let (median, coverage) = (tally.median_ms(), tally.coverage());
    println!(
        "{name}: {} times of {trips} trips, {:.2} % inside the stated uncertainty, \
         median error {median:.2} ms, widest uncertainty {:.0} ms",
        tally.asked,
        coverage * 100.0,
        tally.widest * 1e3
    );
    assert!(coverage >= 0.995, "{name}: {coverage}");
    assert!(median <= most_median_ms, "{name}: {median} ms");
}

#[test]
fn sentences_with_jitter() {
    check("sentences, 50 to 600 ms late", 120, 20.0, |dice| {
        World::new(dice, Latency::Jitter)
    });
}

#[test]
fn sentences_that_are_always_late_by_the_same() {
    // The lateness itself cannot be seen; it must be in the uncertainty.
    check("sentences, late by a constant", 120, 300.0, |dice| {
        World::new(dice, Latency::Constant)
    });
}

#[test]
fn pulses() {
    check("sentences and pulses", 60, 1.0, |dice| {
        World::new(dice, Latency::Pulses)
    });
}

#[test]
fn a_disciplined_system_clock() {
    check("system clock", 60, 5.0, |dice| {
        World::new(dice, Latency::System)
    });
}

#[test]
fn every_trouble_at_once() {
    check("sentences with every trouble", 120, 20.0, |dice| {
        let mut world = World::new(dice, Latency::Jitter);
        world.troubles = Trouble::ALL
            .into_iter()
            .filter(|_| dice.chance(0.5))
            .collect();
        world
    });
}

#[test]
fn each_trouble_alone() {
    for trouble in Trouble::ALL {
        check(&format!("sentences, {trouble:?}"), 20, 20.0, |dice| {
            let mut world = World::new(dice, Latency::Jitter);
            world.troubles = vec![trouble];
            world
        });
    }
}

#[test]
fn a_leap_second_in_mid_trip() {
    // The last one that was published: 2016-12-31 23:59:60.
    check("leap second", 20, 20.0, |dice| {
        let mut world = World::new(dice, Latency::Jitter);
        let before = dice.between(0.2, 0.8) * world.length_s;
        let leap: DateTime<Utc> = "2016-12-31T23:59:60Z".parse().unwrap();
        world.start_tai_ns = super::leap::tai_of_utc(leap) - (before * 1e9) as i128;
        world.settings.earliest = "2010-01-01T00:00:00Z".parse().unwrap();
        world
    });
}

#[test]
fn midnight_is_a_time_like_any_other() {
    check("midnight", 20, 20.0, |dice| {
        let mut world = World::new(dice, Latency::Jitter);
        let before = dice.between(0.2, 0.8) * world.length_s;
        let midnight: DateTime<Utc> = "2027-01-01T00:00:00Z".parse().unwrap();
        world.start_tai_ns = super::leap::tai_of_utc(midnight) - (before * 1e9) as i128;
        world
    });
}

#[test]
fn never_a_fix_means_no_value_and_says_so() {
    let mut dice = Dice::new(5);
    let mut world = World::new(&mut dice, Latency::Jitter);
    world.first_fix_s = world.length_s + 1.0;
    let timeline = Timeline::of_records(&world.records(), 16_000, &TimeSettings::default());
    let estimate = timeline.at_sample(16_000);
    assert_eq!((estimate.value, estimate.uncertainty), (None, None));
    assert_eq!(estimate.doubts, ["unknown, relative only"]);
}

#[test]
fn far_from_any_fix_the_time_has_a_doubt() {
    let mut dice = Dice::new(6);
    let mut world = World::new(&mut dice, Latency::Jitter);
    world.length_s = 10_000.0;
    world.first_fix_s = 9_900.0;
    let timeline = Timeline::of_records(&world.records(), 16_000, &TimeSettings::default());
    let estimate = timeline.at_sample(0);
    assert!(
        estimate
            .doubts
            .iter()
            .any(|doubt| doubt.contains("nearest time fix")),
        "{:?}",
        estimate.doubts
    );
    let error = estimate.value.unwrap() - world.utc_at(0.0);
    let half = estimate.uncertainty.unwrap().as_secs_f64();
    assert!(error.as_seconds_f64().abs() <= half && half < 5.0);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn sample_counts_and_monotonic_times_are_each_others_inverse(seed in any::<u64>()) {
        let mut dice = Dice::new(seed);
        let world = World::new(&mut dice, Latency::Jitter);
        let timeline = Timeline::of_records(&world.records(), 16_000, &world.settings);
        let mut last = 0;
        for step in 0..200 {
            let sample = world.sample_at(world.length_s * f64::from(step) / 200.0);
            let mono = timeline.mono_of_sample(sample);
            prop_assert!(mono >= last);
            last = mono;
            prop_assert!(timeline.sample_of_mono(mono).abs_diff(sample) <= 1);
        }
    }

    #[test]
    fn time_never_runs_backwards(seed in any::<u64>()) {
        let mut dice = Dice::new(seed);
        let mut world = World::new(&mut dice, Latency::Jitter);
        world.troubles = Trouble::ALL.into_iter().filter(|_| dice.chance(0.5)).collect();
        let timeline = Timeline::of_records(&world.records(), 16_000, &world.settings);
        let mut last = None;
        let end = world.sample_at(world.length_s);
        for step in 0..2_000 {
            let sample = end * step / 2_000;
            let value = timeline.at_sample(sample).value;
            prop_assert!(value >= last);
            last = value;
        }
    }
}
