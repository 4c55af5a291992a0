//! Contacts with one station.

use super::exchange::{exchange, farewell, word_for};
use crate::scenario::channels;
use crate::scenario::conversation::episode_writer::{EpisodeWriter, ExchangedValues};
use crate::scenario::conversation::source::ConversationSource;
use crate::scenario::episode::DriveEpisode;
use crate::scenario::operator::{OPERATOR_NAME, own};
use crate::scenario::people::SimulatedPerson;
use crate::scenario::talk::{sentence, spell};

/// The operator hears a CQ and answers it.
pub(super) fn answered_cq(air: &mut ConversationSource) -> DriveEpisode {
    let (dial, path) = (air.short_wave(), air.fading());
    let mut page = EpisodeWriter::new("answered a CQ", dial, path);
    let person = air.person();
    let who = page.cast(&person);
    let sign = person.sign();
    for _ in 0..1 + air.random.bits() % 2 {
        page.rx(
            air,
            who,
            format!("C Q, C Q, C Q. This is {sign}, {sign}, standing by."),
        );
        page.pause(3.5);
    }
    let own = own();
    let first = page.tx(
        air,
        format!("{}, this is {own} mobile, {own}.", person.sign_of_others()),
    );
    let again = air.chance(0.2);
    if again {
        page.rx(
            air,
            who,
            format!("The mobile station, again please. {sign}."),
        );
        page.tx(air, format!("{own}, {own} mobile, over."));
    }
    page.rx(
        air,
        who,
        format!("{own}, {sign}. Thanks for the call, over."),
    );
    let said = exchange(air, &mut page, who, &person);
    page.contact(&person, first, said);
    page.episode
}

/// The operator calls CQ, more than once if need be, and one station answers.
pub(super) fn own_cq(air: &mut ConversationSource) -> DriveEpisode {
    let (dial, path) = (air.short_wave(), air.fading());
    let mut page = EpisodeWriter::new("own CQ", dial, path);
    answered(air, &mut page);
    page.episode
}

/// Calls, an answer, and the contact after it.
pub(super) fn answered(air: &mut ConversationSource, page: &mut EpisodeWriter) -> SimulatedPerson {
    let person = air.person();
    let who = page.cast(&person);
    for _ in 0..air.random.bits() % 3 {
        let cq = air.cq();
        page.tx(air, cq);
        let pause_s = air.random.between(6.0, 14.0);
        page.pause(pause_s);
    }
    let cq = air.cq();
    let first = page.tx(air, cq);
    page.pause(9.0);
    let sign = person.sign();
    let called = air.own_as_called();
    page.rx(air, who, format!("{called}this is {sign}, {sign}, over."));
    let said = exchange(air, page, who, &person);
    page.contact(&person, first, said);
    person
}

/// A station with a special call sign's manners: everybody gets a number.
pub(super) fn special_event(air: &mut ConversationSource) -> DriveEpisode {
    let (dial, path) = (air.short_wave(), air.fading());
    let mut page = EpisodeWriter::new("special event", dial, path);
    let person = air.person();
    let who = page.cast(&person);
    let (sign, own) = (person.sign(), own());
    page.rx(
        air,
        who,
        format!("Q R Z, this is special event station {sign}."),
    );
    let first = page.tx(air, format!("{own} mobile, {own}."));
    let number = (100 + air.random.bits() % 2_900).to_string();
    let (sent, received) = (air.rst(), "59".to_owned());
    let called = air.own_as_called();
    page.rx(
        air,
        who,
        format!(
            "{called}you are five nine, number {}, over.",
            spell(&number)
        ),
    );
    let report = air.report(&sent);
    page.tx(
        air,
        format!(
            "Roger, number {}. {report}. {}, seven three.",
            spell(&number),
            person.sign_of_others()
        ),
    );
    page.rx(air, who, format!("Thank you, seven three. Q R Z, {sign}."));
    let said = ExchangedValues {
        sent: Some(sent),
        received: Some(received),
        name: false,
        number: Some(number),
    };
    page.contact(&person, first, said);
    page.episode
}

/// Twenty-five minutes of talk.
pub(super) fn chat(air: &mut ConversationSource) -> DriveEpisode {
    let repeater = air.chance(0.5);
    let (dial, path) = if repeater {
        let dial = channels::repeater(&mut air.random);
        (
            dial,
            channels::modulated(&mut air.random, air.difficulty, true),
        )
    } else {
        (air.short_wave(), air.fading())
    };
    let mut page = EpisodeWriter::new("long chat", dial, path);
    let person = air.person();
    let who = page.cast(&person);
    let (sign, own, call) = (person.sign(), own(), person.sign_of_others());
    let first = page.tx(air, format!("{call}, this is {own} mobile."));
    page.rx(
        air,
        who,
        format!(
            "{own}, {sign}. Hello {OPERATOR_NAME}, {} here.",
            person.name
        ),
    );
    for round in 0..17 {
        let talk: Vec<&str> = (0..13).map(|_| sentence(&mut air.random)).collect();
        let end = if round % 4 == 0 {
            format!("{call}, {own}.")
        } else {
            "Over to you.".into()
        };
        page.tx(air, format!("{} {end}", talk.join(" ")));
        let talk: Vec<&str> = (0..13).map(|_| sentence(&mut air.random)).collect();
        let end = if round % 3 == 0 {
            format!("{own}, {sign}.")
        } else {
            "Back to you.".into()
        };
        page.rx(air, who, format!("{} {end}", talk.join(" ")));
    }
    farewell(air, &mut page, who, &person, true);
    page.contact(
        &person,
        first,
        ExchangedValues {
            name: true,
            ..ExchangedValues::default()
        },
    );
    page.episode
}

/// The operator calls a friend on a simplex channel; no reports, or one.
pub(super) fn by_sign(air: &mut ConversationSource) -> DriveEpisode {
    let dial = channels::simplex(&mut air.random);
    let path = channels::modulated(&mut air.random, air.difficulty, false);
    let mut page = EpisodeWriter::new("call by sign", dial, path);
    let person = air.person();
    let who = page.cast(&person);
    let (sign, own, call) = (person.sign(), own(), person.sign_of_others());
    let name = person.name;
    let with_report = air.chance(0.5);
    let (sent, received) = (air.rst(), air.rst());
    let first = page.tx(air, format!("{call}, {call}, this is {own} mobile."));
    let report = if with_report {
        format!("{} here.", air.report(&received))
    } else {
        String::new()
    };
    let named = air.chance(0.5);
    let my_name = if named { air.name(name) } else { String::new() };
    page.rx(
        air,
        who,
        format!("{own}, {sign}. Good morning {OPERATOR_NAME}. {report} {my_name}"),
    );
    let report = if with_report {
        format!("{}.", air.report(&sent))
    } else {
        String::new()
    };
    let talk = air.talk(1);
    page.tx(
        air,
        format!("Good morning {}. {report} {talk}", word_for(name, named)),
    );
    let talk = air.talk(2);
    page.rx(
        air,
        who,
        format!("All right {OPERATOR_NAME}. {talk} {sign}."),
    );
    farewell(air, &mut page, who, &person, named);
    let said = ExchangedValues {
        sent: with_report.then_some(sent),
        received: with_report.then_some(received),
        name: named,
        number: None,
    };
    page.contact(&person, first, said);
    page.episode
}

/// A contact, and the same station again on another band a little later.
pub(super) fn other_band(air: &mut ConversationSource) -> Vec<DriveEpisode> {
    let (dial, path) = (air.short_wave(), air.fading());
    let mut page = EpisodeWriter::new("own CQ, then another band", dial, path);
    let person = answered(air, &mut page);
    let dial = channels::simplex(&mut air.random);
    let path = channels::modulated(&mut air.random, air.difficulty, false);
    let mut again = EpisodeWriter::new("again on another band", dial, path);
    let who = again.cast(&person);
    let (sign, own, call) = (person.sign(), own(), person.sign_of_others());
    let first = again.tx(air, format!("{call}, {call}, {own} mobile on two metres."));
    again.rx(
        air,
        who,
        format!("{own}, {sign}. Much better here {OPERATOR_NAME}."),
    );
    let (sent, received) = (air.rst(), air.rst());
    let report = air.report(&sent);
    again.tx(air, format!("{report} on this band. How copy?"));
    let report = air.report(&received);
    again.rx(
        air,
        who,
        format!("{report}. Seven three {OPERATOR_NAME}, {sign}."),
    );
    again.tx(air, format!("Seven three. {own} mobile, clear."));
    let said = ExchangedValues {
        sent: Some(sent),
        received: Some(received),
        ..ExchangedValues::default()
    };
    again.contact(&person, first, said);
    vec![page.episode, again.episode]
}
