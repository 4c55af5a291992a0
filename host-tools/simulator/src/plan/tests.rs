//! Drives of one episode, for the tests of this and of their sound.

use jumpseat_core::journal::AudioDirection;

use super::*;
use crate::scenario::{self, VoiceFamily, WrittenOrigin};

/// A quiet drive on steady sideband in which the operator, two stations in turn, and the
/// operator again speak; `change` makes of the episode what the test needs. The operator's
/// sound card is without noise.
pub(crate) fn plan_of(change: impl FnOnce(&mut DriveEpisode)) -> DrivePlan {
    let mut scenario = scenario::short(1);
    scenario.marker = None;
    scenario.sound.floor_dbfs = -200.0;
    scenario.tail_s = 4.0;
    let episode = &mut scenario.episodes[0];
    episode.path = RadioPath::Ssb {
        snr_db: 20.0,
        fading_db: 0.0,
    };
    let voice = |name: &str| OtherStation {
        voice: SpeakerVoice {
            family: VoiceFamily::Espeak,
            name: name.into(),
            speed: 165,
            pitch: 50,
        },
        level_db: 0.0,
        off_hz: 0.0,
    };
    episode.cast = vec![voice("en-us+f3"), voice("en-us+m7")];
    let over = |direction, speaker, text: &str| ScriptedOver {
        direction,
        speaker,
        pause_s: 1.0,
        dial: None,
        text: text.into(),
        delivery: OverDelivery::default(),
    };
    episode.overs = vec![
        over(AudioDirection::Tx, 0, "Who is there on this frequency?"),
        over(AudioDirection::Rx, 0, "Good morning, here is Ruth."),
        over(AudioDirection::Rx, 1, "And here is Walt, good morning."),
        over(AudioDirection::Tx, 0, "Good morning to both of you."),
    ];
    episode.contacts.clear();
    episode.marks_s.clear();
    change(episode);
    DrivePlan::lay_out(scenario, &mut |_| ()).unwrap()
}

/// The spans of a plan's overs.
fn spans(plan: &DrivePlan) -> Vec<DriveSpan> {
    plan.overs.iter().map(|over| over.span).collect()
}

#[test]
fn an_over_that_overlaps_begins_within_the_one_before() {
    for overlapping in 1..4 {
        let plan = plan_of(|episode| episode.overs[overlapping].delivery.overlapping = true);
        let spans = spans(&plan);
        for (number, pair) in spans.windows(2).enumerate() {
            let length_s = pair[0].to_s - pair[0].from_s;
            let part = (pair[1].from_s - pair[0].from_s) / length_s;
            if number + 1 == overlapping {
                assert!((0.29..=0.71).contains(&part), "{part}");
            } else {
                let before = &spans[..=number];
                let latest_s = before.iter().map(|span| span.to_s).fold(0.0, f64::max);
                assert!((pair[1].from_s - latest_s - 1.0).abs() < 0.002);
            }
        }
    }
}

#[test]
fn somebody_in_the_car_takes_time_and_does_not_key() {
    let plan = plan_of(|episode| {
        episode.overs[2].direction = AudioDirection::Tx;
        episode.overs[2].delivery.in_car = true;
    });
    let plain = plan_of(|_| ());
    assert_eq!(spans(&plan), spans(&plain));
    assert_eq!(plan.key(), plain.key());
}

#[test]
fn at_the_microphone_of_a_written_conversation_the_cast_may_speak() {
    let length_s = |written: bool, speaker: usize| {
        let plan = plan_of(|episode| {
            episode.overs[0].speaker = speaker;
            episode.written = written.then(|| WrittenOrigin {
                place: "hand/file.txt:1".into(),
                kinds: Vec::new(),
                nobody: None,
            });
        });
        plan.overs[0].voice.seconds()
    };
    let operator = length_s(false, 0);
    assert_eq!(length_s(true, usize::MAX), operator);
    assert_ne!(length_s(true, 0), operator);
}

#[test]
fn a_clipped_over_begins_after_its_voice() {
    let fm = RadioPath::Fm {
        snr_db: 20.0,
        squelch_tail_s: 0.2,
    };
    for (path, lead_s) in [(None, 0.0), (Some(fm), 0.3)] {
        let plan = plan_of(|episode| {
            episode.overs[1].delivery.clipped = true;
            episode.path = path.unwrap_or(episode.path);
        });
        let over = &plan.overs[1];
        let missing_s = over.span.from_s - over.voice_from_s;
        assert!((missing_s - 0.25).abs() < 1e-9, "{missing_s}");
        let after_s = over.span.to_s - over.voice_from_s - over.voice.seconds();
        assert!((after_s - lead_s).abs() < 0.002, "{after_s}");
    }
}

#[test]
fn the_button_is_pressed_just_before_the_overs_that_are_named() {
    let plan = plan_of(|episode| episode.marks_before = vec![2, 2, 4]);
    let begins_s = plan.overs[2].span.from_s;
    let end_s = plan.overs[3].span.to_s;
    let marks: Vec<f64> = plan.marks.iter().map(|mark| mark.at_s).collect();
    let expected = [begins_s - 0.8, begins_s - 0.2, end_s + 0.8].map(round_ms);
    assert_eq!(marks, expected);
}
