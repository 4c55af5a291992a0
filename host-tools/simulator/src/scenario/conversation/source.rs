//! What conversations draw from: people, frequencies, reports, names and small talk.

use crate::random::SeededRandom;
use crate::scenario::episode::ScriptedDial;
use crate::scenario::operator::{OPERATOR_NAME, OWN_CALL, own};
use crate::scenario::people::SimulatedPerson;
use crate::scenario::radio_path::RadioPath;
use crate::scenario::talk::spell;
use crate::scenario::wish::DriveDifficulty;
use crate::scenario::{channels, people, talk};

/// What conversations draw from, and what they must not use twice.
pub(crate) struct ConversationSource {
    pub(crate) random: SeededRandom,
    pub(crate) difficulty: DriveDifficulty,
    /// Folders of word recordings.
    pub(crate) recorded: Vec<String>,
    /// Call signs that were met or overheard.
    pub(crate) taken: Vec<String>,
    /// Frequencies on short wave that were used.
    pub(crate) used: Vec<u64>,
}

impl ConversationSource {
    pub(super) fn person(&mut self) -> SimulatedPerson {
        SimulatedPerson::new(&mut self.random, &self.recorded, &mut self.taken)
    }

    pub(super) fn chance(&mut self, share: f64) -> bool {
        self.random.between(0.0, 1.0) < share
    }

    pub(super) fn short_wave(&mut self) -> ScriptedDial {
        channels::short_wave(&mut self.random, &mut self.used)
    }

    pub(super) fn fading(&mut self) -> RadioPath {
        channels::fading(&mut self.random, self.difficulty)
    }

    pub(super) fn rst(&mut self) -> String {
        people::rst(&mut self.random)
    }

    pub(super) fn talk(&mut self, sentences: usize) -> String {
        let said: Vec<&str> = (0..sentences)
            .map(|_| talk::sentence(&mut self.random))
            .collect();
        said.join(" ")
    }

    /// A few sentences or none.
    pub(super) fn some_talk(&mut self) -> String {
        let sentences = (self.random.bits() % 4) as usize;
        self.talk(sentences)
    }

    /// How the other station calls the operator: in full, in part, or not at all.
    pub(super) fn own_as_called(&mut self) -> String {
        match self.random.bits() % 20 {
            0..=11 => format!("{}, ", own()),
            12..=15 => format!("{}, ", spell(&OWN_CALL[2..])),
            16 => format!("{OPERATOR_NAME}, "),
            _ => String::new(),
        }
    }

    pub(super) fn report(&mut self, rst: &str) -> String {
        talk::report(&mut self.random, rst)
    }

    /// "The name is Ruth", spelled or not.
    pub(super) fn name(&mut self, name: &str) -> String {
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

    pub(super) fn greeting(&mut self) -> &'static str {
        let words = [
            "Good morning.",
            "Hello.",
            "Thanks for the call.",
            "Roger roger.",
            "",
        ];
        self.random.pick(&words).copied().unwrap_or("")
    }

    pub(super) fn cq(&mut self) -> String {
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
