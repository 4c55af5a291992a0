//! A drive on which written conversations take place one after the other.

use crate::random::SeededRandom;
use crate::scenario::{
    DriveDifficulty, DriveEpisode, DriveScenario, RadioPath, ScriptedDial, SpeakerVoice,
    VoiceFamily, marks_of, quiet_drive, written_modulated, written_short_wave,
};
use crate::written::header::{TempoWord, VoiceSex};
use crate::written::read::WrittenConversation;
use crate::written::staging::{ConversationStage, StagedOperator};

/// What kind of drive is wanted.
#[derive(Debug)]
pub struct WrittenDriveWish<'a> {
    /// Everything that is drawn follows from it.
    pub seed: u64,
    /// Which conversations, with the places where they were written.
    pub conversations: &'a [(String, WrittenConversation)],
    /// How hard: other levels than those that the writers gave, and a louder car.
    pub difficulty: DriveDifficulty,
    /// Whose voices.
    pub families: &'a [VoiceSource],
    /// Whether the operator presses the mark button at all.
    pub marks: bool,
}

/// Where voices come from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VoiceSource {
    /// The family.
    pub family: VoiceFamily,
    /// A folder or a file of it; of no meaning for a program that has its own voices.
    pub place: String,
}

/// Why a drive cannot be made.
#[derive(Debug, thiserror::Error)]
pub enum WrittenDriveError {
    /// There is nobody to speak.
    #[error("no family of voices is given")]
    NoVoices,
    /// There is nothing to say.
    #[error("there are no conversations; give a folder that holds .txt files of them")]
    NoConversations,
    /// A country has no row in the table of prefixes.
    #[error("{0}: a station's country is not in the table of prefixes")]
    Country(String),
}

/// Seconds between two conversations.
const GAP_S: (f64, f64) = (15.0, 60.0);

/// From which countries operators are, the usual one more than once.
const HOMES: [&str; 8] = [
    "United States",
    "United States",
    "United States",
    "United States",
    "Canada",
    "England",
    "Germany",
    "Australia",
];

/// The drive that `wish` asks for.
///
/// # Errors
/// There is nothing to say or nobody to say it, or a country is unknown.
pub fn written_drive(wish: &WrittenDriveWish<'_>) -> Result<DriveScenario, WrittenDriveError> {
    if wish.families.is_empty() {
        return Err(WrittenDriveError::NoVoices);
    }
    if wish.conversations.is_empty() {
        return Err(WrittenDriveError::NoConversations);
    }
    let mut random = SeededRandom::stream(wish.seed, "written");
    let mut taken = Vec::new();
    let home = random.pick(&HOMES).copied().unwrap_or(HOMES[0]);
    let own =
        |random: &mut SeededRandom, sex| voice(random, wish.families, sex, false, TempoWord::Usual);
    let operator = StagedOperator::draw(&mut random, home, own, &mut taken);
    let operator = operator.ok_or_else(|| WrittenDriveError::Country(home.to_owned()))?;
    let difficulty = wish.difficulty;
    let mut stage = ConversationStage {
        random: SeededRandom::stream(wish.seed, "stage"),
        operator: &operator,
        as_written: random.between(0.0, 1.0) < 0.5,
        level_db: match difficulty {
            DriveDifficulty::Easy => 8.0,
            DriveDifficulty::Road => 0.0,
            DriveDifficulty::Hard => -4.0,
        },
        taken,
        voice: &|random, sex, accent, tempo| voice(random, wish.families, sex, accent, tempo),
        path: &|random, dial: &ScriptedDial, level_db, repeater| {
            path(random, dial, level_db.max(1.0), repeater)
        },
    };
    let mut episodes: Vec<DriveEpisode> = Vec::new();
    for (place, written) in wish.conversations {
        let episode = stage.put_on_the_air(written, place);
        let mut episode = episode.ok_or_else(|| WrittenDriveError::Country(place.clone()))?;
        episode.settled_s = random.between(GAP_S.0, GAP_S.1);
        if !wish.marks {
            episode.marks_before.clear();
        } else if episode.marks_before.is_empty() {
            marks_of(&mut random, &mut episode);
        }
        episodes.push(episode);
    }
    let mut scenario = quiet_drive(wish.seed, episodes, random.between(20.0, 120.0));
    operator.voice.clone_into(&mut scenario.voice);
    operator.call().clone_into(&mut scenario.station.call);
    operator.call().clone_into(&mut scenario.station.operator);
    scenario.sound.road_noise_dbfs = match difficulty {
        DriveDifficulty::Easy => -54.0,
        DriveDifficulty::Road => -48.0,
        DriveDifficulty::Hard => -40.0,
    };
    scenario.tail_s = 40.0;
    Ok(scenario)
}

fn path(
    random: &mut SeededRandom,
    dial: &ScriptedDial,
    level_db: f32,
    repeater: bool,
) -> RadioPath {
    if dial.mode == "FM" {
        // What is 10 dB on short wave is noisy on FM: the same words of the writer.
        written_modulated(random, level_db, repeater)
    } else {
        written_short_wave(random, level_db)
    }
}

/// A voice of one of the families. Somebody whose first language is another has a voice that
/// is far from the American and the southern English ones, where the family has any.
fn voice(
    random: &mut SeededRandom,
    families: &[VoiceSource],
    sex: VoiceSex,
    accent: bool,
    tempo: TempoWord,
) -> SpeakerVoice {
    let (low, high) = match tempo {
        TempoWord::Slow => (115.0, 140.0),
        TempoWord::Usual => (140.0, 185.0),
        TempoWord::Fast => (180.0, 215.0),
    };
    let speed = random.between(low, high) as u32;
    let pitch = match sex {
        VoiceSex::Man => random.between(30.0, 52.0),
        VoiceSex::Woman => random.between(50.0, 72.0),
    } as u32;
    let has = |source: &&VoiceSource| !names(source, sex, accent).is_empty();
    let fitting: Vec<&VoiceSource> = families.iter().filter(has).collect();
    let source = random.pick(&fitting).copied().or(families.first());
    let (family, name) = match source {
        Some(source) => {
            let all = names(source, sex, accent);
            let name = random
                .pick(&all)
                .cloned()
                .unwrap_or_else(|| source.place.clone());
            (source.family, name)
        }
        None => (VoiceFamily::Espeak, "en-us".to_owned()),
    };
    SpeakerVoice {
        family,
        name,
        speed,
        pitch,
    }
}

/// The voices of a source for somebody; none where it has no such voice.
fn names(source: &VoiceSource, sex: VoiceSex, accent: bool) -> Vec<String> {
    let owned = |list: &[&str]| list.iter().map(|name| (*name).to_owned()).collect();
    match (source.family, sex) {
        (VoiceFamily::Espeak, _) => {
            let accents: &[&str] = if accent {
                &[
                    "en-029",
                    "en-gb-x-gbclan",
                    "en-gb-x-gbcwmd",
                    "en-us-nyc",
                    "en-gb-scotland",
                ]
            } else {
                &["en-us", "en-us", "en-gb", "en-gb-x-rp", "en-gb-scotland"]
            };
            let variants: &[&str] = match sex {
                VoiceSex::Man => &[
                    "m1", "m2", "m3", "m4", "m5", "m6", "m7", "m8", "Denis", "Michael", "Alex",
                    "john", "max",
                ],
                VoiceSex::Woman => &["f1", "f2", "f3", "f4", "f5", "Annie", "steph", "linda"],
            };
            accents
                .iter()
                .flat_map(|accent| {
                    variants
                        .iter()
                        .map(move |variant| format!("{accent}+{variant}"))
                })
                .collect()
        }
        (VoiceFamily::Flite, VoiceSex::Man) if accent => owned(&["awb"]),
        (VoiceFamily::Flite, VoiceSex::Man) => owned(&["kal", "kal16", "awb", "rms"]),
        (VoiceFamily::Flite, VoiceSex::Woman) => owned(&["slt"]),
        (VoiceFamily::Festival, VoiceSex::Man) => owned(&["kal_diphone", "ked_diphone"]),
        (VoiceFamily::Festival, VoiceSex::Woman) => owned(&["cmu_us_slt_arctic_hts"]),
        (VoiceFamily::Pico, VoiceSex::Man) => Vec::new(),
        (VoiceFamily::Pico, VoiceSex::Woman) => owned(&["en-US", "en-GB"]),
        // The place of a voice is its file.
        (VoiceFamily::Piper, VoiceSex::Woman) => Vec::new(),
        (VoiceFamily::Piper, VoiceSex::Man) => vec![source.place.clone()],
        // What is spelled is a real person's; the words between are espeak-ng's.
        (VoiceFamily::Words, _) => vec![source.place.clone()],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::written::read::read_text;

    const TALK: &str = "# One\nkinds: run\ndial: 20m USB\nlevel: 10\nA: Germany\nME: CQ from {me}.\n[mark]\nA: {me} from {A}.\nME: {A}, {A.gets}.\nA: {A.gives}.\nlog: A\n\n# Two\nkinds: overheard\ndial: 2m FM\nlevel: 20\nA: Japan, woman, accent, tempo fast\nB: France\nA: {B}, {A}.\n+B: {A}?\nlog: nobody, two others\n";

    fn conversations() -> Vec<(String, WrittenConversation)> {
        let all = read_text(TALK).unwrap();
        all.into_iter()
            .map(|one| (format!("hand/file.txt:{}", one.line), one))
            .collect()
    }

    fn drive(seed: u64, marks: bool) -> DriveScenario {
        let source = |family| VoiceSource {
            family,
            place: String::new(),
        };
        written_drive(&WrittenDriveWish {
            seed,
            conversations: &conversations(),
            difficulty: DriveDifficulty::Road,
            families: &[source(VoiceFamily::Espeak), source(VoiceFamily::Flite)],
            marks,
        })
        .unwrap()
    }

    #[test]
    fn conversations_become_episodes_with_their_truth() {
        for seed in 0..50 {
            let drive = drive(seed, true);
            let [first, second] = &drive.episodes[..] else {
                panic!("{}", drive.episodes.len());
            };
            let [contact] = &first.contacts[..] else {
                panic!("{:?}", first.contacts);
            };
            assert_eq!(contact.overs, (0, 3));
            assert!(contact.sent.is_some() && contact.received.is_some());
            assert_eq!(first.marks_before, [1]);
            assert_eq!(second.overs.len(), 2);
            assert!(second.contacts.is_empty() && second.overs[1].delivery.overlapping);
            assert!(first.overs[1].text.len() > 30, "{}", first.overs[1].text);
            assert_ne!(drive.station.call, contact.call);
        }
        assert!(
            drive(1, false)
                .episodes
                .iter()
                .all(|one| one.marks_before.is_empty() && one.marks_s.is_empty())
        );
    }

    #[test]
    fn a_seed_gives_the_same_words_again() {
        let words = |seed| -> Vec<String> {
            let drive = drive(seed, true);
            let overs = drive.episodes.iter().flat_map(|one| one.overs.clone());
            overs.map(|over| over.text).collect()
        };
        assert_eq!(words(5), words(5));
        assert_ne!(words(5), words(6));
    }
}
