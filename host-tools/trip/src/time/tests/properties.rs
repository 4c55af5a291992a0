//! What holds on every drive.

use proptest::prelude::*;

use super::super::Timeline;
use super::world::{ClockDice, ClockTrouble, ClockWorld, FixLatency};

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn sample_counts_and_monotonic_times_are_each_others_inverse(seed in any::<u64>()) {
        let mut dice = ClockDice::new(seed);
        let world = ClockWorld::new(&mut dice, FixLatency::Jitter);
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
    fn time_never_runs_backwards(seed in any::<u64>(), pulses in any::<bool>()) {
        let mut dice = ClockDice::new(seed);
        let latency = if pulses { FixLatency::Pulses } else { FixLatency::Jitter };
        let mut world = ClockWorld::new(&mut dice, latency);
        world.troubles = ClockTrouble::ALL.into_iter().filter(|_| dice.chance(0.5)).collect();
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
