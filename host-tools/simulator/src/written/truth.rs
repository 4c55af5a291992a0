//! What a log would hold of a conversation, by what was spoken in its slots.

use crate::scenario::ScriptedContact;
use crate::written::cast::CastStation;
use crate::written::read::{LoggedStation, LoggedTruth, NotLogged, WrittenConversation};
use crate::written::slot::{FieldForm, SpokenSlot, StationField, StationRef};
use crate::written::turn::{TurnPart, TurnSpeaker, WrittenTurn};

/// The values of a station that were spoken, in the order in which they came; a value that
/// the writer fixed counts as it was fixed, and an empty one does not count.
pub(super) fn spoken_values(
    turns: &[&WrittenTurn],
    letter: char,
    station: &CastStation,
) -> Vec<(StationField, String)> {
    let mut spoken: Vec<(StationField, String)> = Vec::new();
    let mut note = |field: StationField, value: &str| {
        let value = (field, value.to_owned());
        if !value.1.is_empty() && !spoken.contains(&value) {
            spoken.push(value);
        }
    };
    for part in turns.iter().flat_map(|turn| &turn.parts) {
        let TurnPart::Slot(slot) = part else { continue };
        if slot.whose() != Some(StationRef::Other(letter)) {
            continue;
        }
        match slot {
            SpokenSlot::Field { field, .. } => note(*field, station.value(*field)),
            SpokenSlot::Fixed { field, value, .. } => note(*field, value),
            SpokenSlot::Sign { .. } | SpokenSlot::Number(..) => {}
        }
    }
    spoken
}

/// Values that the talk itself asks for: what the writer fixed is what the station has, and a
/// report that is given as "ten over" is 59.
pub(super) fn settle(turns: &[&WrittenTurn], letter: char, station: &mut CastStation) {
    for part in turns.iter().flat_map(|turn| &turn.parts) {
        match part {
            TurnPart::Slot(SpokenSlot::Field {
                whose,
                field,
                forms,
            }) if *whose == StationRef::Other(letter) && forms.contains(&FieldForm::Over) => {
                station.set(*field, "59");
            }
            TurnPart::Slot(SpokenSlot::Fixed {
                whose,
                field,
                value,
                ..
            }) if *whose == StationRef::Other(letter)
                && !value.is_empty()
                && matches!(field, StationField::Gives | StationField::Gets) =>
            {
                station.set(*field, value);
            }
            _ => {}
        }
    }
}

/// The contact that a log would hold. `overs` are the numbers of its first and last over.
pub(super) fn contact(
    logged: &LoggedStation,
    turns: &[&WrittenTurn],
    station: &CastStation,
    overs: (usize, usize),
) -> ScriptedContact {
    let spoken = spoken_values(turns, logged.letter, station);
    let value = |field: StationField| -> Option<String> {
        if logged.without.contains(&NotLogged::Field(field))
            || (field.is_reference() && logged.without.contains(&NotLogged::Reference))
        {
            return None;
        }
        let other = logged.values.iter().filter(|(of, _)| *of == field);
        let spoken = spoken.iter().filter(|(of, _)| *of == field);
        let all: Vec<&str> = other
            .chain(spoken)
            .map(|(_, value)| value.as_str())
            .collect();
        (!all.is_empty()).then(|| all.join("|"))
    };
    let exchanged = StationField::WORDS
        .into_iter()
        .filter(|(_, field)| {
            !matches!(
                field,
                StationField::Gives | StationField::Gets | StationField::Name
            )
        })
        .filter_map(|(word, field)| Some((word.to_owned(), value(field)?)))
        .collect();
    let call = if logged.without.contains(&NotLogged::Addition) {
        station.home.clone()
    } else {
        station.call()
    };
    ScriptedContact {
        call,
        sent: value(StationField::Gets),
        received: value(StationField::Gives),
        name: value(StationField::Name),
        number: value(StationField::Serial),
        exchanged,
        overs,
    }
}

/// The first and last of the turns that belong to a contact with a station. It begins with the
/// operator's call that the station answers, be it general or to the station, and ends with the
/// last turn that the station speaks or in which it is spoken of. Where the station never speaks
/// to the operator by sign or name, it begins with the first such turn, or with the operator's
/// call just before that.
pub(super) fn span(turns: &[&WrittenTurn], letter: char) -> Option<(usize, usize)> {
    let concerns = |turn: &WrittenTurn| {
        turn.speaker == TurnSpeaker::Other(letter) || mentions(turn, StationRef::Other(letter))
    };
    let first = turns.iter().position(|turn| concerns(turn))?;
    let last = turns.iter().rposition(|turn| concerns(turn))?;
    let answer = turns.iter().position(|turn| {
        turn.speaker == TurnSpeaker::Other(letter) && mentions(turn, StationRef::Me)
    });
    let operator =
        |turn: &&WrittenTurn| matches!(turn.speaker, TurnSpeaker::Me | TurnSpeaker::SecondOperator);
    // A call to which another station came before is none that this one answers.
    let others = |turn: &WrittenTurn| {
        matches!(turn.speaker, TurnSpeaker::Other(other) if other != letter)
            && mentions(turn, StationRef::Me)
    };
    let begun = answer.map(|answer| {
        let before = turns.get(..answer).unwrap_or_default();
        let call = before.iter().rposition(operator);
        call.filter(|&call| !before.iter().skip(call).any(|turn| others(turn)))
            .unwrap_or(answer)
    });
    let call = first.checked_sub(1).filter(|&call| {
        operator(&turns[call])
            && mentions(turns[call], StationRef::Me)
            && turns[first].speaker == TurnSpeaker::Other(letter)
            && !('A'..='F').any(|other| mentions(turns[call], StationRef::Other(other)))
    });
    Some((begun.or(call).unwrap_or(first), last))
}

/// The stations of the log that speak or are spoken of in a turn.
pub(super) fn logged_in(
    turn: &WrittenTurn,
    written: &WrittenConversation,
) -> impl Iterator<Item = char> {
    let logged = match &written.truth {
        LoggedTruth::Contacts(contacts) => contacts.as_slice(),
        LoggedTruth::Nobody(_) => &[],
    };
    let concerns = move |letter: &char| {
        turn.speaker == TurnSpeaker::Other(*letter) || mentions(turn, StationRef::Other(*letter))
    };
    logged.iter().map(|station| station.letter).filter(concerns)
}

fn mentions(turn: &WrittenTurn, whom: StationRef) -> bool {
    turn.parts.iter().any(|part| match part {
        TurnPart::Slot(slot) => slot.whose() == Some(whom),
        TurnPart::Words(_) => false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::SeededRandom;
    use crate::written::read::{WrittenLine, read_text};

    fn read(text: &str) -> WrittenConversation {
        let text = format!(
            "# t\nkinds: run\ndial: 20m USB\nlevel: 10\nA: Germany, 2x3, addition /P, name Ute\nB: Japan\n{text}"
        );
        read_text(&text).unwrap().remove(0)
    }

    /// The end of the sign, reports given and received, name, first and last over.
    type ExpectedContact<'a> = (
        &'a str,
        Option<&'a str>,
        Option<&'a str>,
        Option<&'a str>,
        (usize, usize),
    );

    #[track_caller]
    fn check(text: &str, expected: &[ExpectedContact<'_>]) {
        let read = read(text);
        let turns: Vec<&WrittenTurn> = read
            .lines
            .iter()
            .filter_map(|line| match line {
                WrittenLine::Turn(turn) => Some(turn),
                WrittenLine::Direction(_) => None,
            })
            .collect();
        let LoggedTruth::Contacts(logged) = &read.truth else {
            panic!("{text}");
        };
        assert_eq!(logged.len(), expected.len(), "{text}");
        for (logged, (addition, sent, received, name, overs)) in logged.iter().zip(expected) {
            let line = read
                .stations
                .iter()
                .find(|line| line.letter == logged.letter)
                .unwrap();
            let mut random = SeededRandom::stream(3, "truth");
            let mut station = CastStation::draw(&mut random, line, true, &mut Vec::new()).unwrap();
            station.set(StationField::Gets, "55");
            station.set(StationField::Gives, "58");
            settle(&turns, logged.letter, &mut station);
            let contact = contact(
                logged,
                &turns,
                &station,
                span(&turns, logged.letter).unwrap(),
            );
            assert!(contact.call.ends_with(addition), "{}", contact.call);
            assert_eq!(contact.sent.as_deref(), *sent);
            assert_eq!(contact.received.as_deref(), *received);
            assert_eq!(contact.name.as_deref(), *name);
            assert_eq!(contact.overs, *overs);
        }
    }

    #[test]
    fn what_was_spoken_is_logged() {
        check(
            "ME: CQ from {me}.\nA: {me} from {A}.\nME: {A}, you are {A.gets}.\nA: {A.gives by}, name {A.name}.\nlog: A",
            &[("/P", Some("55"), Some("58"), Some("Ute"), (0, 3))],
        );
        // Two callers: the call belongs to the first, the second begins with its own.
        check(
            "ME: CQ from {me}.\nA: {A}.\nME: {A}, {A.gets}.\nA: {A.gives}.\nB: {B}.\nME: {B}, {B.gets over}.\nlog: A\nlog: B without sent",
            &[
                ("/P", Some("55"), Some("58"), None, (0, 3)),
                ("", None, None, None, (4, 5)),
            ],
        );
        // A station that takes others first: the call that it answers is the second.
        check(
            "A: QRZ, {A}.\nME: {me}.\nA: {B}, {B.gets}.\nB: Thanks.\nME: {me}.\nA: {me}, {A.gives}.\nME: {A.gets}.\nlog: A",
            &[("/P", Some("55"), Some("58"), None, (4, 6))],
        );
        check(
            "ME: {A}, {A.gets=44: four by four}, {A.gets=44: four four}.\nA: {A.gives=: full quieting}, {A.name=Uschi: Uschi}.\nlog: A without addition, name Ute",
            &[("", Some("44"), None, Some("Ute|Uschi"), (0, 1))],
        );
    }
}
