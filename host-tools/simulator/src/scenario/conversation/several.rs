//! Conversations that give several entries, or one among many voices.

use super::exchange::{exchange, farewell};
use super::single::answered;
use crate::scenario::channels;
use crate::scenario::conversation::episode_writer::{EpisodeWriter, ExchangedValues};
use crate::scenario::conversation::source::ConversationSource;
use crate::scenario::episode::DriveEpisode;
use crate::scenario::operator::{OPERATOR_NAME, own};
use crate::scenario::people::SimulatedPerson;

/// One CQ, two replies: worked one after the other.
pub(super) fn several_replies(air: &mut ConversationSource) -> DriveEpisode {
    let (dial, path) = (air.short_wave(), air.fading());
    let mut page = EpisodeWriter::new("several replies", dial, path);
    let people = [air.person(), air.person()];
    let casts = people.each_ref().map(|person| page.cast(person));
    let cq = air.cq();
    let mut first = page.tx(air, cq);
    for (person, who) in people.iter().zip(casts) {
        let sign = person.sign();
        page.rx(air, who, format!("{sign}, {sign}."));
    }
    for (index, (person, who)) in people.iter().zip(casts).enumerate() {
        if index > 0 {
            let call = person.sign_of_others();
            first = page.tx(
                air,
                format!("And now {call}, are you still there? {} mobile.", own()),
            );
            let sign = person.sign();
            page.rx(air, who, format!("Yes, {sign}, thank you, over."));
        }
        let said = exchange(air, &mut page, who, person);
        page.contact(person, first, said);
    }
    page.episode
}

/// A contact, a minute of quiet, another CQ and another contact on the frequency.
pub(super) fn two_in_a_row(air: &mut ConversationSource) -> DriveEpisode {
    let (dial, path) = (air.short_wave(), air.fading());
    let mut page = EpisodeWriter::new("two a minute apart", dial, path);
    answered(air, &mut page);
    let next = page.episode.overs.len();
    answered(air, &mut page);
    let pause_s = air.random.between(35.0, 75.0);
    if let Some(over) = page.episode.overs.get_mut(next) {
        over.pause_s = pause_s;
    }
    page.episode
}

/// Three stations and the operator take turns on a repeater.
pub(super) fn repeater_round(air: &mut ConversationSource) -> DriveEpisode {
    let dial = channels::repeater(&mut air.random);
    let path = channels::modulated(&mut air.random, air.difficulty, true);
    let mut page = EpisodeWriter::new("repeater round", dial, path);
    let count = 2 + (air.random.bits() % 2) as usize;
    let people: Vec<SimulatedPerson> = (0..count).map(|_| air.person()).collect();
    let casts: Vec<usize> = people.iter().map(|person| page.cast(person)).collect();
    let own = own();
    let signs: Vec<String> = people.iter().map(SimulatedPerson::sign).collect();
    let first = page.tx(air, format!("{own} mobile, listening on the repeater."));
    page.rx(
        air,
        casts[0],
        format!("{own}, this is {}, good evening {OPERATOR_NAME}.", signs[0]),
    );
    let mut starts = vec![first];
    let talk = air.talk(1);
    page.tx(
        air,
        format!(
            "{}, {own} mobile. Good evening. {talk}",
            people[0].sign_of_others()
        ),
    );
    for index in 1..count {
        page.rx(
            air,
            casts[index],
            format!("Break, {}, {}.", signs[index], signs[index]),
        );
        let start = page.tx(
            air,
            format!(
                "{}, go ahead please. {own}.",
                people[index].sign_of_others()
            ),
        );
        starts.push(start);
        let talk = air.talk(2);
        let named = air.name(people[index].name);
        page.rx(
            air,
            casts[index],
            format!("{named} {talk} {own}, {}.", signs[index]),
        );
    }
    for _ in 0..1 + air.random.bits() % 2 {
        for index in 0..count {
            let talk = air.talk(2);
            let next = people[(index + 1) % count].sign_of_others();
            page.rx(
                air,
                casts[index],
                format!("{talk} {next}, {}.", signs[index]),
            );
        }
        let talk = air.talk(2);
        page.tx(
            air,
            format!("{talk} {}, back to you. {own}.", people[0].sign_of_others()),
        );
    }
    let calls: Vec<String> = people.iter().map(SimulatedPerson::sign_of_others).collect();
    page.tx(
        air,
        format!(
            "Seven three to {}. {own} mobile, clear.",
            calls.join(" and ")
        ),
    );
    for index in 0..count {
        page.rx(
            air,
            casts[index],
            format!("Seven three {OPERATOR_NAME}, {}.", signs[index]),
        );
    }
    for (index, (person, start)) in people.iter().zip(starts).enumerate() {
        let said = ExchangedValues {
            name: index > 0,
            ..ExchangedValues::default()
        };
        page.contact(person, start, said);
    }
    page.episode
}

/// A net: many check in with the control station, the operator among them. Only
/// the control station is a contact.
pub(super) fn net(air: &mut ConversationSource) -> DriveEpisode {
    let dial = channels::repeater(&mut air.random);
    let path = channels::modulated(&mut air.random, air.difficulty, true);
    let mut page = EpisodeWriter::new("net", dial, path);
    let control = air.person();
    let who = page.cast(&control);
    let (sign, own) = (control.sign(), own());
    page.rx(
        air,
        who,
        format!("This is {sign}, net control for the evening net. Check in now please."),
    );
    let before = 1 + air.random.bits() % 3;
    check_ins(air, &mut page, who, before);
    let first = page.tx(air, format!("{own} mobile, {OPERATOR_NAME}, no traffic."));
    page.rx(
        air,
        who,
        format!("{own}, thank you {OPERATOR_NAME}. You are checked in. {sign}."),
    );
    page.tx(
        air,
        format!(
            "Thank you. {}, {own} mobile, seven three.",
            control.sign_of_others()
        ),
    );
    page.contact(&control, first, ExchangedValues::default());
    let after = 1 + air.random.bits() % 3;
    check_ins(air, &mut page, who, after);
    page.episode
}

/// Others check in; none of the operator's business.
fn check_ins(air: &mut ConversationSource, page: &mut EpisodeWriter, control: usize, count: u64) {
    for _ in 0..count {
        let other = air.person();
        let who = page.cast(&other);
        let sign = other.sign();
        let name = other.name;
        page.rx(air, who, format!("{sign}, {name}, checking in."));
        page.rx(
            air,
            control,
            format!("{}, thank you {name}. Next please.", other.sign_of_others()),
        );
    }
}

/// A contact of two others, farewell and all, for what comes after it.
pub(super) fn finish(
    air: &mut ConversationSource,
    page: &mut EpisodeWriter,
    who: usize,
    person: &SimulatedPerson,
) {
    farewell(air, page, who, person, false);
}
