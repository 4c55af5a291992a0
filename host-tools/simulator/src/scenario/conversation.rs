//! Conversations as they happen on the air, written over by over.

mod disturbed;
mod exchange;
mod overheard;
mod several;
mod single;

use jumpseat_core::journal::AudioDirection;

use super::first_drive::{OPERATOR_NAME, OWN_CALL};
use super::people::{self, SimulatedPerson};
use super::talk::{self, spell};
use super::{
    DriveDifficulty, DriveEpisode, RadioPath, ScriptedContact, ScriptedDial, ScriptedOver, channels,
};
use crate::random::SeededRandom;

/// What conversations draw from, and what they must not use twice.
pub(super) struct ConversationSource {
    pub(super) random: SeededRandom,
    pub(super) difficulty: DriveDifficulty,
    /// Folders of word recordings.
    pub(super) recorded: Vec<String>,
    /// Call signs that were met or overheard.
    pub(super) taken: Vec<String>,
    /// Frequencies on short wave that were used.
    pub(super) used: Vec<u64>,
}

/// A conversation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ConversationKind {
    AnsweredCq,
    OwnCq,
    SeveralReplies,
    Unanswered,
    PileUp,
    Overheard,
    Net,
    RepeaterRound,
    SpecialEvent,
    FrequencyChange,
    Tunnel,
    Corrected,
    Chat,
    TwoInARow,
    OtherBand,
    BySign,
}

impl ConversationKind {
    /// Those that give contacts, with how often each is met.
    pub(super) const CONTACTS: [(Self, u32); 14] = [
        (Self::AnsweredCq, 20),
        (Self::OwnCq, 20),
        (Self::SeveralReplies, 6),
        (Self::PileUp, 8),
        (Self::Net, 6),
        (Self::RepeaterRound, 6),
        (Self::SpecialEvent, 7),
        (Self::FrequencyChange, 4),
        (Self::Tunnel, 3),
        (Self::Corrected, 6),
        (Self::Chat, 1),
        (Self::TwoInARow, 6),
        (Self::OtherBand, 4),
        (Self::BySign, 12),
    ];
}

impl ConversationSource {
    /// Writes a conversation; one of two bands gives two episodes.
    pub(super) fn write(&mut self, kind: ConversationKind) -> Vec<DriveEpisode> {
        match kind {
            ConversationKind::AnsweredCq => vec![single::answered_cq(self)],
            ConversationKind::OwnCq => vec![single::own_cq(self)],
            ConversationKind::SpecialEvent => vec![single::special_event(self)],
            ConversationKind::FrequencyChange => vec![disturbed::frequency_change(self)],
            ConversationKind::Tunnel => vec![disturbed::tunnel(self)],
            ConversationKind::Corrected => vec![disturbed::corrected(self)],
            ConversationKind::Chat => vec![single::chat(self)],
            ConversationKind::BySign => vec![single::by_sign(self)],
            ConversationKind::OtherBand => single::other_band(self),
            ConversationKind::SeveralReplies => vec![several::several_replies(self)],
            ConversationKind::TwoInARow => vec![several::two_in_a_row(self)],
            ConversationKind::RepeaterRound => vec![several::repeater_round(self)],
            ConversationKind::Net => vec![several::net(self)],
            ConversationKind::PileUp => vec![overheard::pile_up(self)],
            ConversationKind::Overheard => vec![overheard::others(self)],
            ConversationKind::Unanswered => vec![overheard::unanswered(self)],
        }
    }

    fn person(&mut self) -> SimulatedPerson {
        SimulatedPerson::new(&mut self.random, &self.recorded, &mut self.taken)
    }

    fn chance(&mut self, share: f64) -> bool {
        self.random.between(0.0, 1.0) < share
    }

    fn short_wave(&mut self) -> ScriptedDial {
        channels::short_wave(&mut self.random, &mut self.used)
    }

    fn fading(&mut self) -> RadioPath {
        channels::fading(&mut self.random, self.difficulty)
    }

    fn rst(&mut self) -> String {
        people::rst(&mut self.random)
    }

    fn talk(&mut self, sentences: usize) -> String {
        let said: Vec<&str> = (0..sentences)
            .map(|_| talk::sentence(&mut self.random))
            .collect();
        said.join(" ")
    }

    /// A few sentences or none.
    fn some_talk(&mut self) -> String {
        let sentences = (self.random.bits() % 4) as usize;
        self.talk(sentences)
    }

    /// How the other station calls the operator: in full, in part, or not at all.
    fn own_as_called(&mut self) -> String {
        match self.random.bits() % 20 {
            0..=11 => format!("{}, ", own()),
            12..=15 => format!("{}, ", spell(&OWN_CALL[2..])),
            16 => format!("{OPERATOR_NAME}, "),
            _ => String::new(),
        }
    }

    fn report(&mut self, rst: &str) -> String {
        talk::report(&mut self.random, rst)
    }

    /// "The name is Ruth", spelled or not.
    fn name(&mut self, name: &str) -> String {
        let opening = [
            "The name is",
            "My name is",
            "Name here is",
            "The name here is",
        ];
        let opening = self.random.pick(&opening).copied().unwrap_or("My name is");
        if self.chance(0.35) {
            format!("{opening} {name}, {}.", spell(name))
        } else {
            format!("{opening} {name}.")
        }
    }

    fn greeting(&mut self) -> &'static str {
        let words = [
            "Good morning.",
            "Hello.",
            "Thanks for the call.",
            "Roger roger.",
            "",
        ];
        self.random.pick(&words).copied().unwrap_or("")
    }

    fn cq(&mut self) -> String {
        let own = own();
        match self.random.bits() % 3 {
            0 => format!(
                "C Q, C Q, C Q. This is {own} mobile, {own} mobile, calling and standing by."
            ),
            1 => format!("C Q, C Q. {own} mobile, {own} mobile, standing by."),
            _ => format!("C Q, C Q, C Q, this is {own}, {own} mobile, listening."),
        }
    }
}

/// The operator's call sign as he says it.
fn own() -> String {
    spell(OWN_CALL)
}

/// An episode that is being written.
struct EpisodeWriter {
    episode: DriveEpisode,
}

impl EpisodeWriter {
    fn new(kind: &'static str, dial: ScriptedDial, path: RadioPath) -> Self {
        Self {
            episode: DriveEpisode {
                kind,
                not_before_s: 0.0,
                settled_s: 8.0,
                dial,
                path,
                cast: Vec::new(),
                overs: Vec::new(),
                contacts: Vec::new(),
                marks_s: Vec::new(),
                early_marks_s: Vec::new(),
                tunnel_before: None,
            },
        }
    }

    /// Brings somebody on the air.
    fn cast(&mut self, person: &SimulatedPerson) -> usize {
        self.episode.cast.push(person.speaking.clone());
        self.episode.cast.len() - 1
    }

    /// The operator speaks; gives the number of the over.
    fn tx(&mut self, air: &mut ConversationSource, text: String) -> usize {
        let pause_s = air.random.between(0.4, 1.8);
        self.over(AudioDirection::Tx, 0, pause_s, text)
    }

    /// Another station speaks; gives the number of the over.
    fn rx(&mut self, air: &mut ConversationSource, speaker: usize, text: String) -> usize {
        let pause_s = air.random.between(0.4, 2.4);
        self.over(AudioDirection::Rx, speaker, pause_s, text)
    }

    fn over(
        &mut self,
        direction: AudioDirection,
        speaker: usize,
        pause_s: f64,
        text: String,
    ) -> usize {
        self.episode.overs.push(ScriptedOver {
            direction,
            speaker,
            pause_s,
            dial: None,
            text,
        });
        self.episode.overs.len() - 1
    }

    /// Makes the silence before the newest over longer.
    fn pause(&mut self, pause_s: f64) {
        if let Some(over) = self.episode.overs.last_mut() {
            over.pause_s = pause_s;
        }
    }

    /// What the log should hold of the overs from `first` to the newest.
    fn contact(&mut self, person: &SimulatedPerson, first: usize, said: ExchangedValues) {
        self.episode.contacts.push(ScriptedContact {
            call: person.call.clone(),
            sent: said.sent,
            received: said.received,
            name: said.name.then(|| person.name.to_owned()),
            number: said.number,
            overs: (first, self.episode.overs.len() - 1),
        });
    }
}

/// What was said in a contact.
#[derive(Default)]
struct ExchangedValues {
    sent: Option<String>,
    received: Option<String>,
    name: bool,
    number: Option<String>,
}
