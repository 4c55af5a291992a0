//! An episode that is being written, over by over.

use jumpseat_core::journal::AudioDirection;

use crate::scenario::conversation::source::ConversationSource;
use crate::scenario::episode::{
    DriveEpisode, OverDelivery, ScriptedContact, ScriptedDial, ScriptedOver,
};
use crate::scenario::people::SimulatedPerson;
use crate::scenario::radio_path::RadioPath;

/// An episode that is being written.
pub(super) struct EpisodeWriter {
    pub(super) episode: DriveEpisode,
}

impl EpisodeWriter {
    pub(super) fn new(kind: &'static str, dial: ScriptedDial, path: RadioPath) -> Self {
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
                marks_before: Vec::new(),
                tunnel_before: None,
                effects: Vec::new(),
                written: None,
            },
        }
    }

    /// Brings somebody on the air.
    pub(super) fn cast(&mut self, person: &SimulatedPerson) -> usize {
        self.episode.cast.push(person.speaking.clone());
        self.episode.cast.len() - 1
    }

    /// The operator speaks; gives the number of the over.
    pub(super) fn tx(&mut self, air: &mut ConversationSource, text: String) -> usize {
        let pause_s = air.random.between(0.4, 1.8);
        self.over(AudioDirection::Tx, 0, pause_s, text)
    }

    /// Another station speaks; gives the number of the over.
    pub(super) fn rx(
        &mut self,
        air: &mut ConversationSource,
        speaker: usize,
        text: String,
    ) -> usize {
        let pause_s = air.random.between(0.4, 2.4);
        self.over(AudioDirection::Rx, speaker, pause_s, text)
    }

    pub(super) fn over(
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
            delivery: OverDelivery::default(),
        });
        self.episode.overs.len() - 1
    }

    /// Makes the silence before the newest over longer.
    pub(super) fn pause(&mut self, pause_s: f64) {
        if let Some(over) = self.episode.overs.last_mut() {
            over.pause_s = pause_s;
        }
    }

    /// What the log should hold of the overs from `first` to the newest.
    pub(super) fn contact(
        &mut self,
        person: &SimulatedPerson,
        first: usize,
        said: ExchangedValues,
    ) {
        self.episode.contacts.push(ScriptedContact {
            call: person.call.clone(),
            sent: said.sent,
            received: said.received,
            name: said.name.then(|| person.name.to_owned()),
            number: said.number,
            exchanged: Vec::new(),
            overs: (first, self.episode.overs.len() - 1),
        });
    }
}

/// What was said in a contact.
#[derive(Default)]
pub(super) struct ExchangedValues {
    pub(super) sent: Option<String>,
    pub(super) received: Option<String>,
    pub(super) name: bool,
    pub(super) number: Option<String>,
}
