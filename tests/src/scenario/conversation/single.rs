//! Contacts with one station.

use super::super::channels;
use super::super::people::Person;
use super::super::talk::{cut_report, sentence, spell};
use super::super::{Dial, Episode};
use super::{Air, OPERATOR, Page, Said, own};

/// The middle of a contact after the two have found one another: reports, names,
/// talk, farewell. The operator speaks first. Gives what was said.
pub(super) fn exchange(air: &mut Air, page: &mut Page, who: usize, person: &Person) -> Said {
    let call = person.sign_of_others();
    let sign = person.sign();
    let name = person.name;
    let (sent, received) = (air.rst(), air.rst());
    let with_name = air.chance(0.75);
    let mut said = Said {
        sent: Some(sent.clone()),
        received: Some(received.clone()),
        name: with_name,
        number: None,
    };
    let (greeting, report, talk) = (air.greeting(), air.report(&sent), air.some_talk());
    let closing = if air.chance(0.6) {
        format!("{call}, {} mobile, over.", own())
    } else {
        "Over.".to_owned()
    };
    page.tx(
        air,
        format!("{call}, {greeting} {report}. My name is {OPERATOR}. {talk} {closing}"),
    );
    let called = air.own_as_called();
    let report = if air.chance(0.12) {
        format!("{}.", cut_report(&received))
    } else {
        format!("{}.", air.report(&received))
    };
    let named = if with_name {
        air.name(name)
    } else {
        String::new()
    };
    let talk = air.some_talk();
    let end = if air.chance(0.6) {
        sign.clone()
    } else {
        "back to you".to_owned()
    };
    page.rx(
        air,
        who,
        format!("{called}roger {OPERATOR}. {report} {named} {talk} {end}."),
    );
    let rounds = air.random.bits() % 3;
    for _ in 0..rounds {
        let talk = air.talk(2);
        page.tx(
            air,
            format!("Roger {}. {talk} Back to you.", word_for(name, with_name)),
        );
        let talk = air.talk(2);
        page.rx(air, who, format!("All good {OPERATOR}. {talk} Go ahead."));
    }
    farewell(air, page, who, person, with_name);
    if said.sent.as_deref() == Some("") {
        said.sent = None;
    }
    said
}

/// Somebody whose name was not given is called old man.
fn word_for(name: &'static str, known: bool) -> &'static str {
    if known { name } else { "old man" }
}

/// Both say good-bye; sometimes the operator only.
pub(super) fn farewell(air: &mut Air, page: &mut Page, who: usize, person: &Person, named: bool) {
    let name = word_for(person.name, named);
    let call = person.sign_of_others();
    let text = if air.chance(0.7) {
        format!(
            "Thank you {name}. Seven three. {call}, {} mobile, clear.",
            own()
        )
    } else {
        format!("Seven three {name}, thanks for the contact.")
    };
    page.tx(air, text);
    if air.chance(0.8) {
        let text = if air.chance(0.6) {
            format!("Seven three {OPERATOR}. {}, bye bye.", person.sign())
        } else {
            "Seven three, drive safely, bye bye.".to_owned()
        };
        page.rx(air, who, text);
    }
}

/// The operator hears a CQ and answers it.
pub(super) fn answered_cq(air: &mut Air) -> Episode {
    let (dial, path) = (air.short_wave(), air.fading());
    let mut page = Page::new("answered a CQ", dial, path);
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
pub(super) fn own_cq(air: &mut Air) -> Episode {
    let (dial, path) = (air.short_wave(), air.fading());
    let mut page = Page::new("own CQ", dial, path);
    answered(air, &mut page);
    page.episode
}

/// Calls, an answer, and the contact after it.
pub(super) fn answered(air: &mut Air, page: &mut Page) -> Person {
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
pub(super) fn special_event(air: &mut Air) -> Episode {
    let (dial, path) = (air.short_wave(), air.fading());
    let mut page = Page::new("special event", dial, path);
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
    let said = Said {
        sent: Some(sent),
        received: Some(received),
        name: false,
        number: Some(number),
    };
    page.contact(&person, first, said);
    page.episode
}

/// Somebody begins nearby; the two move up and go on.
pub(super) fn frequency_change(air: &mut Air) -> Episode {
    let (dial, path) = (air.short_wave(), air.fading());
    let to = Dial {
        hz: dial.hz + 3_000 + 500 * (air.random.bits() % 8),
        ..dial.clone()
    };
    let mut page = Page::new("frequency change", dial, path);
    let person = air.person();
    let who = page.cast(&person);
    let (sign, own, call) = (person.sign(), own(), person.sign_of_others());
    let cq = air.cq();
    let first = page.tx(air, cq);
    page.rx(air, who, format!("{own}, {own}, this is {sign}, over."));
    page.tx(
        air,
        format!("{call}, somebody is very close. Let us go up five, five up please."),
    );
    page.rx(air, who, format!("Roger, going up five. {sign}."));
    let next = page.tx(air, format!("{call}, this is {own} mobile, are you there?"));
    page.pause(9.0);
    if let Some(over) = page.episode.overs.get_mut(next) {
        over.dial = Some(to);
    }
    page.rx(
        air,
        who,
        format!("{own}, {sign}, I am here, loud and clear."),
    );
    let said = exchange(air, &mut page, who, &person);
    page.contact(&person, first, said);
    page.episode
}

/// A contact that a tunnel cuts off and that goes on behind it.
pub(super) fn tunnel(air: &mut Air) -> Episode {
    let dial = channels::simplex(&mut air.random);
    let path = channels::modulated(&mut air.random, air.difficulty, false);
    let mut page = Page::new("cut by a tunnel", dial, path);
    let person = air.person();
    let who = page.cast(&person);
    let (sign, own, call) = (person.sign(), own(), person.sign_of_others());
    let first = page.tx(air, format!("{call}, {call}, this is {own} mobile."));
    page.rx(air, who, format!("{own}, {sign}. Go ahead {OPERATOR}."));
    page.tx(
        air,
        format!("{call}, there is a tunnel ahead, I may drop out for a minute."),
    );
    let next = page.tx(
        air,
        format!("{call}, {own} mobile, I am back out of the tunnel."),
    );
    let gap_s = air.random.between(25.0, 70.0);
    page.pause(gap_s);
    page.episode.tunnel_before = Some(next);
    page.rx(air, who, format!("{own}, I have you again. {sign}."));
    let said = exchange(air, &mut page, who, &person);
    page.contact(&person, first, said);
    page.episode
}

/// The operator gets the call sign wrong first and is corrected.
pub(super) fn corrected(air: &mut Air) -> Episode {
    let (dial, path) = (air.short_wave(), air.fading());
    let mut page = Page::new("corrected call sign", dial, path);
    let person = air.person();
    let who = page.cast(&person);
    let (sign, own, call) = (person.sign(), own(), person.sign_of_others());
    let home = person
        .call
        .split('/')
        .find(|part| part.len() > 3)
        .unwrap_or_default();
    let mut wrong: Vec<char> = home.chars().collect();
    if let Some(last) = wrong.last_mut() {
        *last = if *last == 'A' { 'K' } else { 'A' };
    }
    let wrong: String = wrong.into_iter().collect();
    let cq = air.cq();
    let first = page.tx(air, cq);
    page.rx(air, who, format!("{own}, this is {sign}, over."));
    page.tx(air, format!("{}, is that correct? {own}.", spell(&wrong)));
    page.rx(
        air,
        who,
        format!("Negative, negative. {sign}, I say again, {sign}."),
    );
    page.tx(air, format!("Roger, {call}, {call}. Thank you, over."));
    page.rx(air, who, format!("That is correct. {sign}."));
    let said = exchange(air, &mut page, who, &person);
    page.contact(&person, first, said);
    page.episode
}

/// Twenty-five minutes of talk.
pub(super) fn chat(air: &mut Air) -> Episode {
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
    let mut page = Page::new("long chat", dial, path);
    let person = air.person();
    let who = page.cast(&person);
    let (sign, own, call) = (person.sign(), own(), person.sign_of_others());
    let first = page.tx(air, format!("{call}, this is {own} mobile."));
    page.rx(
        air,
        who,
        format!("{own}, {sign}. Hello {OPERATOR}, {} here.", person.name),
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
        Said {
            name: true,
            ..Said::default()
        },
    );
    page.episode
}

/// The operator calls a friend on a simplex channel; no reports, or one.
pub(super) fn by_sign(air: &mut Air) -> Episode {
    let dial = channels::simplex(&mut air.random);
    let path = channels::modulated(&mut air.random, air.difficulty, false);
    let mut page = Page::new("call by sign", dial, path);
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
        format!("{own}, {sign}. Good morning {OPERATOR}. {report} {my_name}"),
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
    page.rx(air, who, format!("All right {OPERATOR}. {talk} {sign}."));
    farewell(air, &mut page, who, &person, named);
    let said = Said {
        sent: with_report.then_some(sent),
        received: with_report.then_some(received),
        name: named,
        number: None,
    };
    page.contact(&person, first, said);
    page.episode
}

/// A contact, and the same station again on another band a little later.
pub(super) fn other_band(air: &mut Air) -> Vec<Episode> {
    let (dial, path) = (air.short_wave(), air.fading());
    let mut page = Page::new("own CQ, then another band", dial, path);
    let person = answered(air, &mut page);
    let dial = channels::simplex(&mut air.random);
    let path = channels::modulated(&mut air.random, air.difficulty, false);
    let mut again = Page::new("again on another band", dial, path);
    let who = again.cast(&person);
    let (sign, own, call) = (person.sign(), own(), person.sign_of_others());
    let first = again.tx(air, format!("{call}, {call}, {own} mobile on two metres."));
    again.rx(
        air,
        who,
        format!("{own}, {sign}. Much better here {OPERATOR}."),
    );
    let (sent, received) = (air.rst(), air.rst());
    let report = air.report(&sent);
    again.tx(air, format!("{report} on this band. How copy?"));
    let report = air.report(&received);
    again.rx(
        air,
        who,
        format!("{report}. Seven three {OPERATOR}, {sign}."),
    );
    again.tx(air, format!("Seven three. {own} mobile, clear."));
    let said = Said {
        sent: Some(sent),
        received: Some(received),
        ..Said::default()
    };
    again.contact(&person, first, said);
    vec![page.episode, again.episode]
}
