//! Calls that come to nothing, and what others say to one another.

use super::several::finish;
use crate::scenario::channels;
use crate::scenario::conversation::episode_writer::{EpisodeWriter, ExchangedValues};
use crate::scenario::conversation::source::ConversationSource;
use crate::scenario::episode::DriveEpisode;
use crate::scenario::operator::{OPERATOR_NAME, OWN_CALL, own};
use crate::scenario::people::SimulatedPerson;
use crate::scenario::talk::{cut_report, spell};

/// The operator calls CQ and nobody answers.
pub(super) fn unanswered(air: &mut ConversationSource) -> DriveEpisode {
    let (dial, path) = (air.short_wave(), air.fading());
    let mut page = EpisodeWriter::new("call without an answer", dial, path);
    for _ in 0..1 + air.random.bits() % 3 {
        let cq = air.cq();
        page.tx(air, cq);
        let pause_s = air.random.between(8.0, 25.0);
        page.pause(pause_s);
    }
    page.episode
}

/// Two others in contact; the operator only listens.
pub(super) fn others(air: &mut ConversationSource) -> DriveEpisode {
    let (dial, path) = if air.chance(0.6) {
        (air.short_wave(), air.fading())
    } else {
        let dial = channels::repeater(&mut air.random);
        (
            dial,
            channels::modulated(&mut air.random, air.difficulty, true),
        )
    };
    let mut page = EpisodeWriter::new("overheard", dial, path);
    let people = [air.person(), air.person()];
    let casts = people.each_ref().map(|person| page.cast(person));
    let signs = people.each_ref().map(SimulatedPerson::sign);
    page.rx(
        air,
        casts[0],
        format!("{}, this is {}.", signs[1], signs[0]),
    );
    let rounds = 1 + air.random.bits() % 3;
    for _ in 0..rounds {
        for (me, other) in [(1, 0), (0, 1)] {
            let rst = air.rst();
            let (report, talk) = (air.report(&rst), air.talk(2));
            page.rx(
                air,
                casts[me],
                format!("{}, {}. {report}. {talk} Over.", signs[other], signs[me]),
            );
        }
    }
    page.rx(air, casts[1], format!("Seven three, {}, clear.", signs[1]));
    page.episode
}

/// Many call a rare station; the operator gets through at last.
pub(super) fn pile_up(air: &mut ConversationSource) -> DriveEpisode {
    let (dial, path) = (air.short_wave(), air.fading());
    let mut page = EpisodeWriter::new("pile-up", dial, path);
    let rare = air.person();
    let who = page.cast(&rare);
    let (sign, own) = (rare.sign(), own());
    page.rx(air, who, format!("Q R Z, {sign}."));
    let tries = 2 + air.random.bits() % 4;
    let mut first = 0;
    for attempt in 0..=tries {
        let text = if air.chance(0.7) {
            own.clone()
        } else {
            format!("{own} mobile, {own}")
        };
        first = page.tx(air, format!("{text}."));
        if attempt == tries {
            break;
        }
        // Somebody else was louder.
        let other = air.person();
        let (call, rst) = (other.sign_of_others(), air.rst());
        let other_who = page.cast(&other);
        page.rx(air, who, format!("{call}, you are {}.", cut_report(&rst)));
        page.rx(
            air,
            other_who,
            format!("Roger, five nine, seven three. {}.", other.sign()),
        );
        let text = if air.chance(0.5) {
            format!("Thank you. {sign}, Q R Z.")
        } else {
            "Q R Z.".into()
        };
        page.rx(air, who, text);
    }
    let (sent, received) = (air.rst(), air.rst());
    let called = if air.chance(0.8) {
        own.clone()
    } else {
        spell(&OWN_CALL[2..])
    };
    page.rx(
        air,
        who,
        format!("{called}, you are {}.", cut_report(&received)),
    );
    let report = air.report(&sent);
    let again = if air.chance(0.5) {
        rare.sign_of_others()
    } else {
        String::new()
    };
    page.tx(
        air,
        format!("Roger. {report}. {again} Thank you, seven three from {OPERATOR_NAME}."),
    );
    page.rx(air, who, format!("Thank you. {sign}, Q R Z."));
    if air.chance(0.1) {
        finish(air, &mut page, who, &rare);
    }
    let said = ExchangedValues {
        sent: Some(sent),
        received: Some(received),
        ..ExchangedValues::default()
    };
    page.contact(&rare, first, said);
    page.episode
}
