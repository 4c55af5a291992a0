//! Contacts that something gets in the way of.

use super::exchange::exchange;
use crate::scenario::channels;
use crate::scenario::conversation::episode_writer::EpisodeWriter;
use crate::scenario::conversation::source::ConversationSource;
use crate::scenario::episode::{DriveEpisode, ScriptedDial};
use crate::scenario::operator::{OPERATOR_NAME, own};
use crate::scenario::talk::spell;

/// Somebody begins nearby; the two move up and go on.
pub(super) fn frequency_change(air: &mut ConversationSource) -> DriveEpisode {
    let (dial, path) = (air.short_wave(), air.fading());
    let to = ScriptedDial {
        hz: dial.hz + 3_000 + 500 * (air.random.bits() % 8),
        ..dial.clone()
    };
    let mut page = EpisodeWriter::new("frequency change", dial, path);
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
pub(super) fn tunnel(air: &mut ConversationSource) -> DriveEpisode {
    let dial = channels::simplex(&mut air.random);
    let path = channels::modulated(&mut air.random, air.difficulty, false);
    let mut page = EpisodeWriter::new("cut by a tunnel", dial, path);
    let person = air.person();
    let who = page.cast(&person);
    let (sign, own, call) = (person.sign(), own(), person.sign_of_others());
    let first = page.tx(air, format!("{call}, {call}, this is {own} mobile."));
    page.rx(
        air,
        who,
        format!("{own}, {sign}. Go ahead {OPERATOR_NAME}."),
    );
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
pub(super) fn corrected(air: &mut ConversationSource) -> DriveEpisode {
    let (dial, path) = (air.short_wave(), air.fading());
    let mut page = EpisodeWriter::new("corrected call sign", dial, path);
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
