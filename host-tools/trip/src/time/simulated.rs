//! Simulated clocks: does the truth lie where we say, and how near is the value?

mod cases;
mod properties;
mod world;

use chrono::{DateTime, Utc};

use jumpseat_values::Estimate;

use super::Timeline;
use world::{ClockDice, ClockWorld};

/// Times that are asked of every trip.
const ASKED: usize = 40;

/// Errors (seconds) and hits of many asked times.
#[derive(Default)]
struct TimeTally {
    errors: Vec<f64>,
    inside: usize,
    widest: f64,
}

impl TimeTally {
    /// Asks for the times of a trip.
    fn ask(&mut self, world: &ClockWorld, dice: &mut ClockDice) {
        let timeline = Timeline::of_records(&world.records(), 16_000, &world.settings);
        for _ in 0..ASKED {
            let truth_s = dice.between(0.0, world.length_s);
            let estimate = timeline.at_sample(world.sample_at(truth_s));
            self.add(&estimate, world.utc_at(truth_s));
        }
    }

    fn add(&mut self, estimate: &Estimate<DateTime<Utc>>, truth: DateTime<Utc>) {
        let value = estimate.value.expect("a value, for there were fixes");
        let half = estimate.uncertainty.unwrap();
        let error = (value - truth).as_seconds_f64().abs();
        self.inside += usize::from(error <= half);
        self.widest = self.widest.max(half);
        self.errors.push(error);
    }

    /// Prints the figures and holds them to the promises of the design.
    #[track_caller]
    fn judge(mut self, name: &str, most_median_ms: f64) {
        self.errors.sort_by(f64::total_cmp);
        let asked = self.errors.len();
        let median = self.errors[asked / 2] * 1e3;
        let coverage = self.inside as f64 / asked as f64;
        println!(
            "figure: time, {name}: {:.2} % of {asked} times inside the stated uncertainty, \
             median error {median:.2} ms, widest uncertainty {:.0} ms",
            coverage * 100.0,
            self.widest * 1e3
        );
        assert!(coverage >= 0.995, "{name}: {coverage}");
        assert!(median <= most_median_ms, "{name}: {median} ms");
    }
}

/// Drives `trips` simulated trips and compares with the promises of the design.
#[track_caller]
fn check(name: &str, trips: u64, most_median_ms: f64, make: impl Fn(&mut ClockDice) -> ClockWorld) {
    let mut tally = TimeTally::default();
    for seed in 0..trips {
        let mut dice = ClockDice::new(seed);
        let world = make(&mut dice);
        tally.ask(&world, &mut dice);
    }
    tally.judge(name, most_median_ms);
}
