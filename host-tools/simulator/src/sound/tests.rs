//! What is heard on drives of one episode.

use std::ops::Range;

use jumpseat_core::journal::AudioDirection;

use super::DriveMixer;
use super::units::sample_at;
use crate::plan::DrivePlan;
use crate::plan::tests::plan_of;
use crate::scenario::{
    CarNoise, DriveEffect, DriveSpan, MobileFmChannel, RadioPath, ShortWaveChannel,
};

/// Both channels of a plan.
fn mixed(plan: &DrivePlan) -> [Vec<f32>; 2] {
    let mut mixer = DriveMixer::new(plan);
    let mut sound = [Vec::new(), Vec::new()];
    loop {
        let block = mixer.block();
        if block.is_empty() {
            return sound;
        }
        for pair in block {
            for (channel, sample) in sound.iter_mut().zip(pair) {
                channel.push(f32::from(sample));
            }
        }
    }
}

fn samples(span: DriveSpan) -> Range<usize> {
    sample_at(span.from_s) as usize..sample_at(span.to_s) as usize
}

fn span(from_s: f64, to_s: f64) -> DriveSpan {
    DriveSpan { from_s, to_s }
}

/// Level of a stretch of a channel, in dB below full scale.
fn level_db(channel: &[f32], span: DriveSpan) -> f32 {
    let part = &channel[samples(span)];
    let power = part.iter().map(|x| x * x).sum::<f32>() / part.len() as f32;
    10.0 * (power.max(1e-9)).log10() - 20.0 * 32_767_f32.log10()
}

/// The receive channel with only the overs that have these numbers.
fn received(number: &[usize]) -> Vec<f32> {
    let mut plan = plan_of(|episode| episode.overs[2].delivery.overlapping = true);
    plan.overs.retain(|over| number.contains(&over.number));
    let [received, _] = mixed(&plan);
    received
}

#[test]
fn stations_that_speak_at_a_time_are_heard_together() {
    let (both, one, other) = (received(&[1, 2]), received(&[1]), received(&[2]));
    let none = received(&[]);
    for (n, both) in both.iter().enumerate() {
        let sum = one[n] + other[n] - none[n];
        assert!((both - sum).abs() <= 2.0, "{n}: {both}, {sum}");
    }
}

#[test]
fn a_station_goes_on_under_the_key_and_is_heard_again_after_it() {
    let plan = plan_of(|episode| {
        episode.overs.swap(0, 1);
        episode.overs[0].text = "I have a great deal to say about the weather here. ".repeat(4);
        episode.overs[1].text = "Wait.".into();
        episode.overs[1].delivery.overlapping = true;
    });
    let [received, _] = mixed(&plan);
    let (long, key) = (plan.overs[0].span, plan.overs[1].span);
    assert!(key.to_s + 1.0 < long.to_s);
    assert!(level_db(&received, key) < -100.0);
    let noise_db = plan.scenario.sound.band_noise_dbfs;
    for heard in [span(long.from_s, key.from_s), span(key.to_s, long.to_s)] {
        assert!(level_db(&received, heard) > noise_db + 15.0);
    }
    assert_eq!(plan.key_down(), [key, plan.overs[3].span]);
}

#[test]
fn somebody_in_the_car_is_in_the_microphone_only_under_the_key() {
    let plan = plan_of(|episode| {
        episode.overs[0].text = "I have a great deal to say about the weather here. ".repeat(3);
        for number in 1..3 {
            episode.overs[number].direction = AudioDirection::Tx;
            episode.overs[number].delivery.in_car = true;
        }
        episode.overs[1].delivery.overlapping = true;
    });
    let mut without = plan_of(|_| ());
    without.overs.clear();
    let passenger_s = plan.overs[1].span;
    let heard = |plan: &DrivePlan| mixed(plan)[1].clone();
    let (all, road) = (heard(&plan), heard(&without));
    // After the key is up there is the road alone.
    let after = samples(plan.overs[2].span);
    assert_eq!(all[after.clone()], road[after]);
    // Under it there is what the operator says, and the passenger 6 dB weaker.
    let mut operator = plan;
    operator.overs.retain(|over| over.number != 1);
    let operator = heard(&operator);
    let passenger: Vec<f32> = all.iter().zip(&operator).map(|(a, b)| a - b).collect();
    let wanted = level_db(&passenger, passenger_s) - without.scenario.sound.speech_dbfs;
    assert!((-9.0..-5.5).contains(&wanted), "{wanted}");
}

#[test]
fn an_over_may_arrive_stronger_than_its_station_does() {
    let fm = RadioPath::Fm {
        snr_db: 10.0,
        squelch_tail_s: 0.2,
    };
    // On sideband it is louder; of frequency modulation the noise before the voice is less.
    for (path, expected_db) in [(None, 6.0), (Some(fm), -6.0)] {
        let level = |louder_db| {
            let plan = plan_of(|episode| {
                episode.overs[1].delivery.louder_db = louder_db;
                episode.path = path.unwrap_or(episode.path);
            });
            let over = &plan.overs[1];
            let heard = match path {
                Some(_) => span(over.span.from_s, over.voice_from_s),
                None => over.span,
            };
            level_db(&mixed(&plan)[0], heard)
        };
        let gained = level(6.0) - level(0.0);
        assert!((gained - expected_db).abs() < 0.3, "{gained}");
    }
}

/// The level of speech of a plan, in dB below full scale.
fn speech_db(plan: &DrivePlan) -> f32 {
    plan.scenario.sound.speech_dbfs
}

/// A simplex channel, and a repeater.
fn modulated(repeater: Option<(f32, f64)>) -> RadioPath {
    RadioPath::Car(MobileFmChannel {
        snr_db: 30.0,
        squelch_tail_s: 0.2,
        repeater,
        pickets: None,
    })
}

/// Checks the receive level beside that of speech: during an effect before the third over,
/// and over 0.1 s from 0.05 s and from `later_s` after it.
#[track_caller]
fn check_effect(
    effect: DriveEffect,
    path: RadioPath,
    later_s: f64,
    during_db: Range<f32>,
    after_db: [Range<f32>; 2],
) {
    let plan = plan_of(|episode| {
        episode.path = path;
        episode.overs[2].pause_s = 8.0;
        episode.effects = vec![(2, effect)];
    });
    let received = &mixed(&plan)[0];
    let at = plan.effects[0].span;
    let level = |part: DriveSpan| level_db(received, part) - speech_db(&plan);
    assert!(during_db.contains(&level(at)), "{effect:?}: {}", level(at));
    for (from_s, expected) in [0.05, later_s].into_iter().zip(after_db) {
        let after = level(span(at.to_s + from_s, at.to_s + from_s + 0.1));
        assert!(
            expected.contains(&after),
            "{effect:?} {from_s} s after: {after}"
        );
    }
}

#[test]
fn effects_on_a_channel_are_heard_and_leave_the_carrier_as_they_should() {
    let (simplex, repeater) = (modulated(None), modulated(Some((900.0, 1.5))));
    let (silence, hiss, noise) = (-200.0..-70.0, -32.0..-28.0, -1.5..1.5);
    // A sine of 0.4 lies 11 dB under a level of 1.
    let tone = -12.0..-10.0;
    let check = check_effect;
    let after = |one: &Range<f32>, two: &Range<f32>| [one.clone(), two.clone()];
    check(
        DriveEffect::SquelchTail,
        simplex,
        1.0,
        noise.clone(),
        after(&silence, &silence),
    );
    check(
        DriveEffect::Kerchunk,
        simplex,
        1.0,
        hiss.clone(),
        after(&noise, &silence),
    );
    check(
        DriveEffect::Kerchunk,
        repeater,
        1.55,
        hiss.clone(),
        after(&hiss, &noise),
    );
    check(
        DriveEffect::CourtesyTone,
        repeater,
        1.15,
        tone.clone(),
        after(&hiss, &noise),
    );
    check(
        DriveEffect::TimeOut,
        repeater,
        1.0,
        -16.0..-12.0,
        after(&silence, &silence),
    );
    check(
        DriveEffect::MorseIdentifier,
        repeater,
        1.0,
        -16.0..-12.0,
        after(&noise, &silence),
    );
}

#[test]
fn splatter_lies_over_the_noise_of_the_band() {
    let heard = |path: Option<RadioPath>| {
        let plan = plan_of(|episode| {
            episode.overs[2].pause_s = 10.0;
            episode.effects = vec![(2, DriveEffect::Splatter(6.0))];
            episode.path = path.unwrap_or(episode.path);
        });
        let at = plan.effects[0].span;
        level_db(&mixed(&plan)[0], span(at.from_s + 1.0, at.to_s))
            - plan.scenario.sound.band_noise_dbfs
    };
    // Two thirds of the time 6 dB over the noise, to which it adds.
    assert!((4.5..6.5).contains(&heard(None)), "{}", heard(None));
    // A closed squelch stays closed.
    assert!(heard(Some(modulated(None))) < -50.0);
}

#[test]
fn a_tuner_keys_and_hums_and_mutes_the_receiver() {
    let plan = plan_of(|episode| episode.effects = vec![(2, DriveEffect::Tuner(3.0))]);
    let [received, spoken] = mixed(&plan);
    let at = plan.effects[0].span;
    assert!(level_db(&received, at) < -100.0);
    let hum = level_db(&spoken, at) - speech_db(&plan);
    assert!((-31.0..-27.0).contains(&hum), "{hum}");
}

#[test]
fn noises_are_in_the_microphone_whether_the_key_is_down_or_not() {
    let level = |noisy: bool| {
        let plan = plan_of(|episode| {
            if noisy {
                episode.effects = vec![(1, DriveEffect::Noise(CarNoise::Fan))];
            }
        });
        level_db(&mixed(&plan)[1], plan.overs[1].span) - speech_db(&plan)
    };
    assert!(level(false) < -30.0, "{}", level(false));
    // Pink noise has more below the voice band than in it.
    assert!((-20.0..-16.0).contains(&level(true)), "{}", level(true));
}

#[test]
fn a_leak_is_the_own_voice_and_thumps_of_the_key() {
    let plan = plan_of(|episode| episode.effects = vec![(3, DriveEffect::Leak)]);
    let [received, _] = mixed(&plan);
    let level = |part: DriveSpan| level_db(&received, part) - speech_db(&plan);
    // Not yet in the first over.
    assert!(level(plan.overs[0].span) < -70.0);
    let at = plan.overs[3].span;
    let voice = level(span(at.from_s + 0.3, at.to_s - 0.3));
    assert!((-29.0..-25.0).contains(&voice), "{voice}");
    let thump = level(span(at.from_s, at.from_s + 0.03));
    assert!((-14.0..-6.0).contains(&thump), "{thump}");
}

#[test]
fn noise_rises_between_overs_where_the_gain_is_controlled() {
    let levels = |agc_db| {
        let plan = plan_of(|episode| {
            episode.overs[2].pause_s = 4.0;
            episode.path = RadioPath::Hf(ShortWaveChannel {
                snr_db: 26.0,
                delay_s: 0.0,
                spread_hz: 0.0,
                carrier: None,
                crashes: 0.0,
                ignition: None,
                neighbour: None,
                agc_db,
            });
        });
        let received = &mixed(&plan)[0];
        let over = plan.overs[1].span;
        let between = span(over.to_s + 1.0, over.to_s + 3.0);
        [over, between].map(|part| level_db(received, part))
    };
    let [[over, between], [plain_over, plain_between]] = [levels(10.0), levels(0.0)];
    assert!(
        (-0.5..3.0).contains(&(over - plain_over)),
        "{over}, {plain_over}"
    );
    let risen = between - plain_between;
    assert!((8.5..10.1).contains(&risen), "{risen}");
}
