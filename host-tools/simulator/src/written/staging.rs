//! Puts a written conversation on the air: an episode of a drive.

use jumpseat_core::journal::AudioDirection;

use crate::random::SeededRandom;
use crate::scenario::{
    DriveEpisode, OtherStation, OverDelivery, RadioPath, ScriptedDial, ScriptedOver, SpeakerVoice,
    WrittenOrigin,
};
use crate::written::cast::CastStation;
use crate::written::direction::StageDirection;
use crate::written::header::{StationLine, TempoWord, VoiceSex, WrittenDial};
use crate::written::read::{LoggedTruth, WrittenConversation, WrittenLine};
use crate::written::say::{self, SpellingHabit};
use crate::written::slot::{SpellingWords, SpokenSlot, StationField, StationRef};
use crate::written::truth;
use crate::written::turn::{TurnPart, TurnSpeaker, WrittenTurn};

/// Who drives.
#[derive(Debug, Clone, PartialEq)]
pub struct StagedOperator {
    station: CastStation,
    /// The operator's voice.
    pub voice: SpeakerVoice,
}

impl StagedOperator {
    /// Somebody from this country. `None` where no such country is known.
    pub fn draw(
        random: &mut SeededRandom,
        country: &str,
        voice: impl FnOnce(&mut SeededRandom, VoiceSex) -> SpeakerVoice,
        taken: &mut Vec<String>,
    ) -> Option<Self> {
        // Conversations speak of its fourth and fifth characters as letters.
        let shape = random
            .pick(&["1x3", "2x3", "2x3"])
            .copied()
            .unwrap_or("2x3");
        let line = StationLine::read('A', &format!("{country}, {shape}")).ok()?;
        let station = CastStation::draw(random, &line, false, taken)?;
        let voice = voice(random, station.sex);
        Some(Self { station, voice })
    }

    /// The call sign.
    pub fn call(&self) -> &str {
        &self.station.home
    }

    /// The first name.
    pub fn name(&self) -> &str {
        self.station.value(StationField::Name)
    }
}

/// What is needed to put conversations on the air.
pub struct ConversationStage<'a> {
    /// Draws everything.
    pub random: SeededRandom,
    /// Who drives.
    pub operator: &'a StagedOperator,
    /// Whether names and places are those that the writer gave.
    pub as_written: bool,
    /// Added to the level that the writer gave, in dB.
    pub level_db: f32,
    /// Signs that were used on this drive.
    pub taken: Vec<String>,
    /// A voice for somebody.
    pub voice: &'a dyn Fn(&mut SeededRandom, VoiceSex, bool, TempoWord) -> SpeakerVoice,
    /// A channel on short wave of this signal-to-noise ratio, or one of frequency
    /// modulation, over a repeater or not.
    pub path: &'a dyn Fn(&mut SeededRandom, &ScriptedDial, f32, bool) -> RadioPath,
}

/// Silence between two turns, in seconds; a reply on a repeater waits for its tone.
const TURN_PAUSE_S: (f64, f64) = (0.35, 2.2);

impl ConversationStage<'_> {
    /// The episode of a conversation. `place` says where it was written, for tables.
    pub fn put_on_the_air(
        &mut self,
        written: &WrittenConversation,
        place: &str,
    ) -> Option<DriveEpisode> {
        let turns: Vec<&WrittenTurn> = written
            .lines
            .iter()
            .filter_map(|line| match line {
                WrittenLine::Turn(turn) if turn.speaker != TurnSpeaker::Aside => Some(turn),
                _ => None,
            })
            .collect();
        let mut cast = Vec::new();
        for line in &written.stations {
            let mut station =
                CastStation::draw(&mut self.random, line, self.as_written, &mut self.taken)?;
            truth::settle(&turns, line.letter, &mut station);
            cast.push((line.letter, station));
        }
        let dial = self.dial(&written.dial, None);
        let repeater = written.kinds.iter().any(|kind| kind.word() == "repeater");
        let path = (self.path)(
            &mut self.random,
            &dial,
            written.level_db + self.level_db,
            repeater,
        );
        let mut episode = DriveEpisode {
            kind: "written",
            not_before_s: 0.0,
            settled_s: 6.0,
            dial,
            path,
            cast: Vec::new(),
            overs: Vec::new(),
            contacts: Vec::new(),
            marks_s: Vec::new(),
            early_marks_s: Vec::new(),
            marks_before: Vec::new(),
            tunnel_before: None,
            effects: Vec::new(),
            written: Some(WrittenOrigin {
                place: place.to_owned(),
                kinds: written
                    .kinds
                    .iter()
                    .map(|kind| kind.word().to_owned())
                    .collect(),
                nobody: match &written.truth {
                    LoggedTruth::Nobody(reason) => Some(reason.clone()),
                    LoggedTruth::Contacts(_) => None,
                },
            }),
        };
        let voices = self.voices(&cast, written);
        episode.cast = voices.iter().map(|(_, voice)| voice.clone()).collect();
        self.lines(written, &cast, &voices, &mut episode);
        if let LoggedTruth::Contacts(logged) = &written.truth {
            for logged in logged {
                let (_, station) = cast.iter().find(|(letter, _)| *letter == logged.letter)?;
                let overs = truth::span(&turns, logged.letter)?;
                episode
                    .contacts
                    .push(truth::contact(logged, &turns, station, overs));
            }
        }
        Some(episode)
    }

    /// A voice for everybody who is not the operator, in the order of the episode's cast.
    fn voices(
        &mut self,
        cast: &[(char, CastStation)],
        written: &WrittenConversation,
    ) -> Vec<(TurnSpeaker, OtherStation)> {
        let plain = |voice| OtherStation {
            voice,
            level_db: 0.0,
            off_hz: 0.0,
        };
        let mut voices = Vec::new();
        for (letter, station) in cast {
            let voice = (self.voice)(&mut self.random, station.sex, station.accent, station.tempo);
            // Most people tune well, some do not.
            let off_hz = if station.off_hz == 0.0 {
                (self.random.normal() * 35.0).clamp(-100.0, 100.0)
            } else {
                station.off_hz
            };
            let level_db = station.level_db + self.random.between(-2.0, 2.0) as f32;
            let other = OtherStation {
                voice,
                level_db,
                off_hz,
            };
            voices.push((TurnSpeaker::Other(*letter), other));
        }
        let sexes = [
            (
                TurnSpeaker::SecondOperator,
                written.second_operator.unwrap_or(VoiceSex::Woman),
            ),
            (TurnSpeaker::Passenger, VoiceSex::Woman),
            (TurnSpeaker::Navigation, VoiceSex::Woman),
            (TurnSpeaker::Repeater, VoiceSex::Man),
        ];
        for (speaker, sex) in sexes {
            let voice = (self.voice)(&mut self.random, sex, false, TempoWord::Usual);
            voices.push((speaker, plain(voice)));
        }
        voices
    }

    fn lines(
        &mut self,
        written: &WrittenConversation,
        cast: &[(char, CastStation)],
        voices: &[(TurnSpeaker, OtherStation)],
        episode: &mut DriveEpisode,
    ) {
        let mut pause_s: Option<f64> = None;
        let mut next_dial: Option<ScriptedDial> = None;
        let mut dial = episode.dial.clone();
        let mut louder: Vec<(char, f32)> = Vec::new();
        let mut clipped: Vec<char> = Vec::new();
        let mut met: Vec<char> = Vec::new();
        for line in &written.lines {
            let turn = match line {
                WrittenLine::Turn(turn) => turn,
                WrittenLine::Direction(direction) => {
                    match direction {
                        StageDirection::Mark => episode.marks_before.push(episode.overs.len()),
                        StageDirection::Pause(seconds) => {
                            pause_s = Some(pause_s.unwrap_or_default() + seconds);
                        }
                        StageDirection::Tuning(seconds) => {
                            dial.hz = self.tuned(&dial);
                            next_dial = Some(dial.clone());
                            pause_s = Some(pause_s.unwrap_or_default() + seconds);
                        }
                        StageDirection::DialBy(hertz) => {
                            dial.hz = dial.hz.saturating_add_signed(*hertz);
                            next_dial = Some(dial.clone());
                            pause_s = Some(pause_s.unwrap_or(4.0).max(3.0));
                        }
                        StageDirection::DialTo(to) => {
                            dial = self.dial(to, Some(&dial.mode));
                            next_dial = Some(dial.clone());
                            pause_s = Some(pause_s.unwrap_or(4.0).max(3.0));
                        }
                        StageDirection::Level(letter, db) => louder.push((*letter, *db)),
                        StageDirection::Clip(letter) => clipped.push(*letter),
                        StageDirection::Effect(effect) => {
                            episode.effects.push((episode.overs.len(), *effect));
                        }
                    }
                    continue;
                }
            };
            if turn.speaker == TurnSpeaker::Aside {
                pause_s = Some(pause_s.unwrap_or_default() + 3.0);
                continue;
            }
            met.extend(
                truth::logged_in(turn, written)
                    .filter(|letter| !met.contains(letter))
                    .collect::<Vec<_>>(),
            );
            let text = self.words(turn, cast, met.len().saturating_sub(1));
            let speaker = voices.iter().position(|(who, _)| *who == turn.speaker);
            let letter = match turn.speaker {
                TurnSpeaker::Other(letter) => Some(letter),
                _ => None,
            };
            let direction = match turn.speaker {
                TurnSpeaker::Other(_) | TurnSpeaker::Repeater => AudioDirection::Rx,
                _ => AudioDirection::Tx,
            };
            let louder_db = louder
                .iter()
                .filter(|(of, _)| Some(*of) == letter)
                .map(|(_, db)| db)
                .sum();
            let (low, high) = TURN_PAUSE_S;
            let clip = letter.and_then(|letter| clipped.iter().position(|of| *of == letter));
            if let Some(index) = clip {
                clipped.remove(index);
            }
            episode.overs.push(ScriptedOver {
                direction,
                speaker: speaker.unwrap_or(usize::MAX),
                pause_s: pause_s
                    .take()
                    .unwrap_or_else(|| self.random.between(low, high)),
                dial: next_dial.take(),
                text,
                delivery: OverDelivery {
                    overlapping: turn.overlapping,
                    louder_db,
                    clipped: clip.is_some(),
                    in_car: matches!(
                        turn.speaker,
                        TurnSpeaker::Passenger | TurnSpeaker::Navigation
                    ),
                },
            });
        }
    }

    /// The words of a turn with its values. `worked`: how many stations of the log the operator
    /// has met before in this conversation; each gets the next serial number.
    fn words(&mut self, turn: &WrittenTurn, cast: &[(char, CastStation)], worked: usize) -> String {
        let mut own = self.operator.station.clone();
        let serial = own.value(StationField::Serial).parse::<usize>();
        own.set(
            StationField::Serial,
            &(serial.unwrap_or(1) + worked).to_string(),
        );
        let own = &own;
        let find = |letter: char| {
            cast.iter()
                .find(|(of, _)| *of == letter)
                .map(|(_, station)| station)
        };
        let speaker = match turn.speaker {
            TurnSpeaker::Other(letter) => find(letter).unwrap_or(own),
            _ => own,
        };
        let mut habit = SpellingHabit {
            words: speaker.words,
            oh: false,
            niner: speaker.niner,
        };
        // Somebody who spells in plain letters or old words does so of his own sign; that of
        // another he says as most do.
        let mut text = String::new();
        for part in &turn.parts {
            match part {
                TurnPart::Words(words) => text.push_str(words),
                TurnPart::Slot(slot) => {
                    let of = match slot.whose() {
                        Some(StationRef::Other(letter)) => find(letter),
                        Some(StationRef::Me) => Some(own),
                        None => None,
                    };
                    habit.words = if speaker.words == SpellingWords::Old
                        && of.is_some_and(|of| of != speaker)
                    {
                        SpellingWords::International
                    } else {
                        speaker.words
                    };
                    text.push_str(&self.said(slot, of, habit));
                }
            }
        }
        text
    }

    fn said(
        &mut self,
        slot: &SpokenSlot,
        of: Option<&CastStation>,
        habit: SpellingHabit,
    ) -> String {
        match (slot, of) {
            (SpokenSlot::Sign { form, .. }, Some(of)) => {
                say::sign(&mut self.random, of, form, habit)
            }
            (SpokenSlot::Field { field, forms, .. }, Some(of)) => {
                say::field(&mut self.random, of, *field, forms, habit)
            }
            (SpokenSlot::Fixed { words, .. }, _) => words.clone(),
            (SpokenSlot::Number(low, high), _) => {
                say::number(self.random.between(f64::from(*low), f64::from(high + 1)) as u32)
            }
            (SpokenSlot::Sign { .. } | SpokenSlot::Field { .. }, None) => String::new(),
        }
    }

    fn dial(&mut self, written: &WrittenDial, mode: Option<&str>) -> ScriptedDial {
        match written {
            WrittenDial::Band {
                segment_hz: (low, high),
                mode,
            } => ScriptedDial {
                hz: self
                    .random
                    .between(*low as f64 / 500.0, *high as f64 / 500.0) as u64
                    * 500,
                mode: mode.clone(),
            },
            WrittenDial::Exact { hz, mode: own } => ScriptedDial {
                hz: *hz,
                mode: own.as_deref().or(mode).unwrap_or("USB").to_owned(),
            },
        }
    }

    /// Some place on the band, 4 to 40 kHz away.
    fn tuned(&mut self, dial: &ScriptedDial) -> u64 {
        let away = self.random.between(8.0, 80.0) as i64 * 500;
        dial.hz
            .saturating_add_signed(if self.random.bits().is_multiple_of(2) {
                away
            } else {
                -away
            })
    }
}
