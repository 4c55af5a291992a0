//! A turn: who speaks, and the words with their slots.

use crate::written::sheet_error::SheetFault;
use crate::written::slot::SpokenSlot;

/// Who speaks in a turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum TurnSpeaker {
    /// The operator, with the key down.
    Me,
    /// A second person at the same microphone.
    SecondOperator,
    /// The operator with the key up: nobody on the air hears it.
    Aside,
    /// Another station, by its letter.
    Other(char),
    /// Somebody in the car.
    Passenger,
    /// The navigation's voice.
    Navigation,
    /// A repeater's own voice.
    Repeater,
}

impl TurnSpeaker {
    /// The speaker with this name.
    pub fn named(name: &str) -> Option<Self> {
        Some(match name {
            "ME" => Self::Me,
            "ME2" => Self::SecondOperator,
            "ASIDE" => Self::Aside,
            "PASSENGER" => Self::Passenger,
            "NAV" => Self::Navigation,
            "REPEATER" => Self::Repeater,
            "A" | "B" | "C" | "D" | "E" | "F" => Self::Other(name.chars().next()?),
            _ => return None,
        })
    }
}

/// A piece of what is said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TurnPart {
    /// As it stands.
    Words(String),
    /// A value.
    Slot(SpokenSlot),
}

/// What somebody says in one turn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrittenTurn {
    /// Who.
    pub speaker: TurnSpeaker,
    /// Begins while the turn before is still being spoken.
    pub overlapping: bool,
    /// What, in order.
    pub parts: Vec<TurnPart>,
}

/// Parts the words of a turn at their slots.
pub(super) fn parts(text: &str) -> Result<Vec<TurnPart>, SheetFault> {
    let mut parts = Vec::new();
    let mut rest = text.trim();
    if rest.is_empty() {
        return Err(SheetFault::Empty);
    }
    while !rest.is_empty() {
        let (words, after) = rest.split_once('{').unwrap_or((rest, ""));
        let (words, slot) = if words.len() == rest.len() {
            (words, None)
        } else {
            let (slot, after) = after.split_once('}').ok_or(SheetFault::Bracket)?;
            rest = after;
            (words, Some(slot))
        };
        if words.contains(['{', '}', '[', ']']) {
            return Err(SheetFault::Bracket);
        }
        if words.contains(|symbol: char| symbol.is_ascii_digit()) {
            return Err(SheetFault::Figure);
        }
        if !words.is_empty() {
            parts.push(TurnPart::Words(words.to_owned()));
        }
        match slot {
            Some(slot) => parts.push(TurnPart::Slot(SpokenSlot::read(slot)?)),
            None => rest = "",
        }
    }
    Ok(parts)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::written::slot::{SignForm, StationRef};

    fn sign(letter: char) -> TurnPart {
        TurnPart::Slot(SpokenSlot::Sign {
            whose: StationRef::Other(letter),
            form: SignForm::default(),
        })
    }

    #[test]
    fn words_and_slots_stay_in_order() {
        let words = |text: &str| TurnPart::Words(text.to_owned());
        for (text, expected) in [
            ("Hello there.", vec![words("Hello there.")]),
            ("{A}", vec![sign('A')]),
            (
                "{A}, {B}?",
                vec![sign('A'), words(", "), sign('B'), words("?")],
            ),
            ("Roger {A}", vec![words("Roger "), sign('A')]),
        ] {
            assert_eq!(parts(text), Ok(expected), "{text}");
        }
    }

    #[test]
    fn what_a_turn_cannot_have_is_refused() {
        for (text, fault) in [
            ("", SheetFault::Empty),
            ("Roger {A", SheetFault::Bracket),
            ("Roger A}", SheetFault::Bracket),
            ("Roger [pause 3]", SheetFault::Bracket),
            ("exit 107", SheetFault::Figure),
            ("{Z}", SheetFault::Slot(1)),
        ] {
            assert_eq!(parts(text), Err(fault), "{text}");
        }
    }
}
