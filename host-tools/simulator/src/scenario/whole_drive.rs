//! Makes whole drives: conversations one after the other, drawn by a seed.

use crate::random::SeededRandom;
use crate::scenario::conversation::ConversationKind;
use crate::scenario::conversation::source::ConversationSource;
use crate::scenario::drive_scenario::DriveScenario;
use crate::scenario::episode::{DriveEpisode, ScriptedOver};
use crate::scenario::operator::OWN_CALL;
use crate::scenario::people;
use crate::scenario::people::SimulatedPerson;
use crate::scenario::quiet_car::{drive_of, receiver_after};
use crate::scenario::talk::{sentence, spell};
use crate::scenario::voice::{SpeakerVoice, VoiceFamily};
use crate::scenario::wish::{DriveDifficulty, DriveWish};

/// The drive that `wish` asks for.
pub fn drive(wish: &DriveWish) -> DriveScenario {
    let voices = wish
        .voices
        .iter()
        .map(|path| path.to_string_lossy().into_owned());
    let mut air = ConversationSource {
        random: SeededRandom::stream(wish.seed, "conversations"),
        difficulty: wish.difficulty,
        recorded: voices.collect(),
        taken: vec![OWN_CALL.to_owned()],
        used: Vec::new(),
    };
    let mut random = SeededRandom::stream(wish.seed, "schedule");
    let mut scenario = drive_of(wish.seed, schedule(wish, &mut air, &mut random), {
        let fix_after_s = random.between(20.0, 120.0);
        receiver_after(fix_after_s, None)
    });
    scenario.voice = SpeakerVoice {
        speed: random.between(150.0, 180.0) as u32,
        ..people::voice(&mut random, &[])
    };
    // A voice that everybody understands: the operator knows how to use a microphone.
    if scenario.voice.family == VoiceFamily::Espeak {
        let name = random.pick(&["en-us+m3", "en-us+m1", "en-us+f3", "en-gb+m2"]);
        scenario.voice.name = name.copied().unwrap_or("en-us+m3").to_owned();
    }
    scenario.sound.road_noise_dbfs = match wish.difficulty {
        DriveDifficulty::Easy => -54.0,
        DriveDifficulty::Road => -48.0,
        DriveDifficulty::Hard => -40.0,
    };
    scenario.tail_s = 40.0;
    scenario.least_length_s = wish.hours * 3_600.0;
    scenario.neighbour = Some(neighbour(&mut air));
    scenario
}

fn schedule(
    wish: &DriveWish,
    air: &mut ConversationSource,
    random: &mut SeededRandom,
) -> Vec<DriveEpisode> {
    let (start_s, end_s) = (45.0, wish.hours * 3_600.0 - 60.0);
    let wanted = (wish.hours * wish.contacts_per_hour).round().max(1.0) as usize;
    let slot_s = (end_s - start_s) / wanted as f64;
    let mut episodes: Vec<DriveEpisode> = Vec::new();
    let (mut now_s, mut made) = (start_s, 0);
    while made < wanted {
        // Time that is behind is caught up before anything is added.
        let due_s = start_s + made as f64 * slot_s;
        let mut kinds = Vec::new();
        if now_s < due_s + 0.3 * slot_s {
            let share = random.between(0.0, 1.0);
            if share < 0.25 {
                kinds.push(ConversationKind::Unanswered);
            } else if share < 0.6 {
                kinds.push(ConversationKind::Overheard);
            }
        }
        kinds.push(contact_kind(random, end_s - now_s));
        for kind in kinds {
            for mut episode in air.write(kind) {
                made += episode.contacts.len();
                let gap_s = random.between(12.0, 50.0);
                episode.not_before_s = now_s + gap_s;
                if !episode.contacts.is_empty() {
                    let start_s = due_s + random.between(0.0, 0.4) * slot_s;
                    episode.not_before_s = start_s.max(now_s + gap_s);
                }
                if wish.marks {
                    marks_of(random, &mut episode);
                }
                now_s = episode.not_before_s + length_s(&episode);
                episodes.push(episode);
            }
        }
        if now_s > end_s {
            break;
        }
    }
    episodes
}

fn contact_kind(random: &mut SeededRandom, left_s: f64) -> ConversationKind {
    let total: u32 = ConversationKind::CONTACTS
        .iter()
        .map(|(_, weight)| weight)
        .sum();
    let mut at = random.between(0.0, f64::from(total)) as u32;
    for (kind, weight) in ConversationKind::CONTACTS {
        if at < weight {
            // A chat of 25 minutes needs its time.
            return if kind == ConversationKind::Chat && left_s < 2_000.0 {
                ConversationKind::OwnCq
            } else {
                kind
            };
        }
        at -= weight;
    }
    ConversationKind::OwnCq
}

/// About how long an episode takes: people say two and a half words a second.
fn length_s(episode: &DriveEpisode) -> f64 {
    let over =
        |over: &ScriptedOver| over.pause_s + over.text.split_whitespace().count() as f64 / 2.5;
    episode.overs.iter().map(over).sum()
}

/// Presses of the button: on time, late, twice, forgotten, too early, or for nothing.
pub(crate) fn marks_of(random: &mut SeededRandom, episode: &mut DriveEpisode) {
    let share = random.between(0.0, 1.0);
    if episode.contacts.is_empty() {
        if share < 0.06 {
            episode.marks_s.push(random.between(-2.0, 10.0));
        }
        return;
    }
    match share {
        _ if share < 0.45 => episode.marks_s.push(random.between(-3.0, 1.0)),
        _ if share < 0.68 => episode.marks_s.push(random.between(1.0, 30.0)),
        _ if share < 0.76 => {
            let at_s = random.between(-3.0, 15.0);
            episode
                .marks_s
                .extend([at_s, at_s + random.between(0.6, 8.0)]);
        }
        _ if share < 0.82 => episode.early_marks_s.push(random.between(1.0, 12.0)),
        _ => {}
    }
}

/// What two people on the next channel say all the time.
fn neighbour(air: &mut ConversationSource) -> (SpeakerVoice, String) {
    let other = SimulatedPerson::new(&mut air.random, &[], &mut air.taken);
    let talk: Vec<&str> = (0..12).map(|_| sentence(&mut air.random)).collect();
    let sign = spell(other.call.split('/').next().unwrap_or_default());
    (other.speaking.voice, format!("{} {sign}.", talk.join(" ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wish(seed: u64, hours: f64) -> DriveWish {
        DriveWish {
            seed,
            hours,
            contacts_per_hour: 8.0,
            difficulty: DriveDifficulty::Road,
            voices: Vec::new(),
            marks: true,
        }
    }

    #[test]
    fn a_long_drive_has_every_kind_of_conversation_and_the_contacts_asked_for() {
        let mut kinds: Vec<&str> = Vec::new();
        for seed in 1..5 {
            let scenario = drive(&wish(seed, 24.0));
            let contacts: usize = scenario.episodes.iter().map(|one| one.contacts.len()).sum();
            assert!((170..=215).contains(&contacts), "{contacts}");
            kinds.extend(scenario.episodes.iter().map(|one| one.kind));
        }
        kinds.sort_unstable();
        kinds.dedup();
        assert_eq!(kinds.len(), 17, "{kinds:?}");
    }

    #[test]
    fn contacts_lie_within_their_episodes_and_the_others_have_voices() {
        for seed in 1..20 {
            for episode in drive(&wish(seed, 3.0)).episodes {
                for contact in &episode.contacts {
                    assert!(contact.overs.0 < contact.overs.1);
                    assert!(contact.overs.1 < episode.overs.len());
                }
                let speaks = |over: &ScriptedOver| {
                    over.direction == jumpseat_core::journal::AudioDirection::Tx
                        || over.speaker < episode.cast.len()
                };
                assert!(episode.overs.iter().all(speaks), "{}", episode.kind);
            }
        }
    }
}
