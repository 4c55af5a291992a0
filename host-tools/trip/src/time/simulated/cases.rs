//! One test for each trouble that the design names.

use chrono::{DateTime, Utc};
use jumpseat_core::journal::{JournalEvent, JournalRecord};
use jumpseat_values::{Doubt, TimeDoubt};

use super::super::leap::tai_of_utc;
use super::super::{TimeSettings, Timeline};
use super::world::{ClockDice, ClockTrouble, ClockWorld, FixLatency};
use super::{ASKED, TimeTally, check};

/// The medians that are promised, milliseconds.
const SENTENCES_MS: f64 = 20.0;
const PULSES_MS: f64 = 1.0;

fn with(dice: &mut ClockDice, latency: FixLatency, troubles: &[ClockTrouble]) -> ClockWorld {
    let mut world = ClockWorld::new(dice, latency);
    world.troubles = troubles.to_vec();
    world
}

/// A drive with an instant of UTC somewhere in its middle.
fn around(dice: &mut ClockDice, instant: &str) -> ClockWorld {
    let mut world = ClockWorld::new(dice, FixLatency::Jitter);
    let before = dice.between(0.2, 0.8) * world.length_s;
    let instant: DateTime<Utc> = instant.parse().unwrap();
    world.start_tai_ns = tai_of_utc(instant) - (before * 1e9) as i128;
    world
}

#[test]
fn latency_jitter_of_50_to_600_ms() {
    check(
        "latency jitter of 50 to 600 ms",
        120,
        SENTENCES_MS,
        |dice| with(dice, FixLatency::Jitter, &[]),
    );
}

#[test]
fn latency_that_is_always_the_same_is_in_the_uncertainty() {
    // It cannot be seen, so that nothing better is promised of the value.
    check("constant latency", 120, 300.0, |dice| {
        with(dice, FixLatency::Constant, &[])
    });
}

#[test]
fn no_fix_for_the_first_ten_minutes() {
    check("no fix for ten minutes", 60, SENTENCES_MS, |dice| {
        let mut world = with(dice, FixLatency::Jitter, &[]);
        world.first_fix_s = 600.0;
        world.length_s = world.length_s.max(1500.0);
        world
    });
}

#[test]
fn a_tunnel() {
    check("a tunnel", 60, SENTENCES_MS, |dice| {
        with(dice, FixLatency::Jitter, &[ClockTrouble::Tunnel])
    });
}

#[test]
fn one_fix_in_ten_seconds() {
    check("one fix in ten seconds", 60, SENTENCES_MS, |dice| {
        with(dice, FixLatency::Jitter, &[ClockTrouble::Seldom])
    });
}

#[test]
fn never_a_fix_means_no_value_and_says_so() {
    let mut dice = ClockDice::new(5);
    let mut world = ClockWorld::new(&mut dice, FixLatency::Jitter);
    world.first_fix_s = world.length_s + 1.0;
    let timeline = Timeline::of_records(&world.records(), 16_000, &TimeSettings::default());
    let estimate = timeline.at_sample(16_000);
    assert_eq!((estimate.value, estimate.uncertainty), (None, None));
    assert_eq!(estimate.doubts, [TimeDoubt::Unknown.into()]);
}

#[test]
fn a_plausible_but_wrong_date_before_the_fix() {
    check("a wrong date before the fix", 60, SENTENCES_MS, |dice| {
        with(dice, FixLatency::Jitter, &[ClockTrouble::WrongDateFirst])
    });
    check("leap seconds not yet known", 60, SENTENCES_MS, |dice| {
        with(
            dice,
            FixLatency::Jitter,
            &[ClockTrouble::LeapSecondsUnknownFirst],
        )
    });
}

#[test]
fn a_date_1024_weeks_back() {
    for (name, trouble) in [
        ("1024 weeks back", ClockTrouble::Rollover),
        (
            "1024 weeks back before the fix",
            ClockTrouble::RolloverFirst,
        ),
    ] {
        check(name, 60, SENTENCES_MS, |dice| {
            with(dice, FixLatency::Jitter, &[trouble])
        });
    }
}

#[test]
fn the_system_clock_stepped_by_an_hour_in_mid_trip() {
    let stepped = [ClockTrouble::SystemStepped];
    check("system clock stepped, with GPS", 60, SENTENCES_MS, |dice| {
        with(dice, FixLatency::Jitter, &stepped)
    });
    // Wrong for most of the trip: what it says after the step is right.
    check("system clock stepped, alone", 60, SENTENCES_MS, |dice| {
        with(dice, FixLatency::System, &stepped)
    });
}

#[test]
fn a_sound_card_that_drifts_by_100_ppm() {
    check("sound card off by 100 ppm", 60, SENTENCES_MS, |dice| {
        let mut world = with(dice, FixLatency::Jitter, &[]);
        world.sound_rate = if dice.chance(0.5) { 100e-6 } else { -100e-6 };
        world
    });
}

#[test]
fn a_leap_second() {
    // The last one that was published: 2016-12-31 23:59:60.
    check("a leap second", 60, SENTENCES_MS, |dice| {
        let mut world = around(dice, "2016-12-31T23:59:60Z");
        world.settings.earliest = "2010-01-01T00:00:00Z".parse().unwrap();
        world
    });
}

#[test]
fn midnight() {
    check("midnight", 60, SENTENCES_MS, |dice| {
        around(dice, "2027-01-01T00:00:00Z")
    });
}

#[test]
fn the_recorder_started_again_in_mid_contact_borrows_the_fixes_of_the_trip_before() {
    let mut tally = TimeTally::default();
    for seed in 0..60 {
        let mut dice = ClockDice::new(seed);
        let world = ClockWorld::new(&mut dice, FixLatency::Jitter);
        let cut_s = dice.between(0.6, 0.8) * world.length_s;
        let (before, after) = restarted(&world, cut_s);
        let alone = Timeline::of_records(&after, 16_000, &world.settings);
        assert_eq!(alone.at_sample(0).value, None);
        let timeline =
            Timeline::resolve(&after, before.iter(), &[], 16_000, &TimeSettings::default());
        let first = world.sample_at(cut_s);
        for _ in 0..ASKED {
            let truth_s = dice.between(cut_s, world.length_s);
            let estimate = timeline.at_sample(world.sample_at(truth_s) - first);
            tally.add(&estimate, world.utc_at(truth_s));
        }
    }
    tally.judge("recorder restarted, no fix after it", SENTENCES_MS);
}

/// The journals of two trips of one power-up; the second counts samples from 0
/// and never has a fix.
fn restarted(world: &ClockWorld, cut_s: f64) -> (Vec<JournalRecord>, Vec<JournalRecord>) {
    let (cut_ns, first) = (world.mono_at(cut_s), world.sample_at(cut_s));
    let (before, mut after): (Vec<JournalRecord>, Vec<JournalRecord>) = world
        .records()
        .into_iter()
        .partition(|record| record.mono_ns < cut_ns);
    after.retain(|record| matches!(record.event, JournalEvent::Clock { .. }));
    for record in &mut after {
        if let JournalEvent::Clock { sample } = &mut record.event {
            *sample = sample.saturating_sub(first);
        }
    }
    (before, after)
}

#[test]
fn a_reboot_in_mid_contact() {
    // The monotonic clock begins anew, so that each side rests on its own fixes;
    // one contact has overs on both.
    let mut tally = TimeTally::default();
    for seed in 0..60 {
        let mut dice = ClockDice::new(seed);
        let first = ClockWorld::new(&mut dice, FixLatency::Jitter);
        let mut second = ClockWorld::new(&mut dice, FixLatency::Jitter);
        let down_s = dice.between(15.0, 60.0);
        second.start_tai_ns = first.start_tai_ns + ((first.length_s + down_s) * 1e9) as i128;
        second.start_mono_s = dice.between(5.0, 15.0);
        let resolve =
            |world: &ClockWorld| Timeline::of_records(&world.records(), 16_000, &world.settings);
        for (world, at_s) in [(&first, first.length_s - 5.0), (&second, 5.0)] {
            let timeline = resolve(world);
            for step in 0..ASKED {
                let truth_s = at_s + step as f64 / 10.0;
                let estimate = timeline.at_sample(world.sample_at(truth_s));
                tally.add(&estimate, world.utc_at(truth_s));
            }
        }
    }
    tally.judge("the seconds around a reboot", 100.0);
}

#[test]
fn a_disciplined_system_clock() {
    check("a disciplined system clock", 60, 5.0, |dice| {
        with(dice, FixLatency::System, &[])
    });
}

#[test]
fn pulses() {
    check("pulses", 60, PULSES_MS, |dice| {
        with(dice, FixLatency::Pulses, &[])
    });
    check("pulses on a loose wire", 60, PULSES_MS, |dice| {
        with(dice, FixLatency::Pulses, &[ClockTrouble::LooseWire])
    });
}

#[test]
fn every_trouble_at_once() {
    for (name, latency) in [
        ("every trouble at once", FixLatency::Jitter),
        ("every trouble at once, with pulses", FixLatency::Pulses),
    ] {
        check(name, 120, SENTENCES_MS, |dice| {
            let mut world = ClockWorld::new(dice, latency);
            world.troubles = ClockTrouble::ALL
                .into_iter()
                .filter(|_| dice.chance(0.5))
                .collect();
            world
        });
    }
}

#[test]
fn sound_that_was_lost_and_sentences_that_lag() {
    check("sound that was lost", 60, SENTENCES_MS, |dice| {
        with(dice, FixLatency::Jitter, &[ClockTrouble::SoundLost])
    });
    for (name, latency, most_ms) in [
        ("stragglers among jitter", FixLatency::Jitter, SENTENCES_MS),
        ("stragglers among even ones", FixLatency::Constant, 300.0),
        ("stragglers beside pulses", FixLatency::Pulses, PULSES_MS),
    ] {
        check(name, 120, most_ms, |dice| {
            with(dice, latency, &[ClockTrouble::Stragglers])
        });
    }
}

#[test]
fn far_from_any_fix_the_time_has_a_doubt() {
    let mut dice = ClockDice::new(6);
    let mut world = ClockWorld::new(&mut dice, FixLatency::Jitter);
    world.length_s = 10_000.0;
    world.first_fix_s = 9_900.0;
    let timeline = Timeline::of_records(&world.records(), 16_000, &TimeSettings::default());
    let estimate = timeline.at_sample(0);
    let near = |doubt: &Doubt| matches!(doubt, Doubt::Time(TimeDoubt::FarFromFix { .. }));
    assert!(estimate.doubts.iter().any(near), "{:?}", estimate.doubts);
    let error = estimate.value.unwrap() - world.utc_at(0.0);
    let half = estimate.uncertainty.unwrap();
    assert!(error.as_seconds_f64().abs() <= half && half < 5.0);
}
