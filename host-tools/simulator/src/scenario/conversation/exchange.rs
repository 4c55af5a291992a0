//! What is said once two stations have found one another.

use crate::scenario::conversation::episode_writer::{EpisodeWriter, ExchangedValues};
use crate::scenario::conversation::source::ConversationSource;
use crate::scenario::operator::{OPERATOR_NAME, own};
use crate::scenario::people::SimulatedPerson;
use crate::scenario::talk::cut_report;

/// The middle of a contact after the two have found one another: reports, names,
/// talk, farewell. The operator speaks first. Gives what was said.
pub(super) fn exchange(
    air: &mut ConversationSource,
    page: &mut EpisodeWriter,
    who: usize,
    person: &SimulatedPerson,
) -> ExchangedValues {
    let call = person.sign_of_others();
    let sign = person.sign();
    let name = person.name;
    let (sent, received) = (air.rst(), air.rst());
    let with_name = air.chance(0.75);
    let mut said = ExchangedValues {
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
        format!("{call}, {greeting} {report}. My name is {OPERATOR_NAME}. {talk} {closing}"),
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
        format!("{called}roger {OPERATOR_NAME}. {report} {named} {talk} {end}."),
    );
    let rounds = air.random.bits() % 3;
    for _ in 0..rounds {
        let talk = air.talk(2);
        page.tx(
            air,
            format!("Roger {}. {talk} Back to you.", word_for(name, with_name)),
        );
        let talk = air.talk(2);
        page.rx(
            air,
            who,
            format!("All good {OPERATOR_NAME}. {talk} Go ahead."),
        );
    }
    farewell(air, page, who, person, with_name);
    if said.sent.as_deref() == Some("") {
        said.sent = None;
    }
    said
}

/// Somebody whose name was not given is called old man.
pub(super) fn word_for(name: &'static str, known: bool) -> &'static str {
    if known { name } else { "old man" }
}

/// Both say good-bye; sometimes the operator only.
pub(super) fn farewell(
    air: &mut ConversationSource,
    page: &mut EpisodeWriter,
    who: usize,
    person: &SimulatedPerson,
    named: bool,
) {
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
            format!("Seven three {OPERATOR_NAME}. {}, bye bye.", person.sign())
        } else {
            "Seven three, drive safely, bye bye.".to_owned()
        };
        page.rx(air, who, text);
    }
}
