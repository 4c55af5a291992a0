//! Conversations as they happen on the air, written over by over.

mod disturbed;
mod episode_writer;
mod exchange;
mod overheard;
mod several;
mod single;
pub(super) mod source;

use crate::scenario::conversation::source::ConversationSource;
use crate::scenario::episode::DriveEpisode;

/// A conversation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ConversationKind {
    AnsweredCq,
    OwnCq,
    SeveralReplies,
    Unanswered,
    PileUp,
    Overheard,
    Net,
    RepeaterRound,
    SpecialEvent,
    FrequencyChange,
    Tunnel,
    Corrected,
    Chat,
    TwoInARow,
    OtherBand,
    BySign,
}

impl ConversationKind {
    /// Those that give contacts, with how often each is met.
    pub(super) const CONTACTS: [(Self, u32); 14] = [
        (Self::AnsweredCq, 20),
        (Self::OwnCq, 20),
        (Self::SeveralReplies, 6),
        (Self::PileUp, 8),
        (Self::Net, 6),
        (Self::RepeaterRound, 6),
        (Self::SpecialEvent, 7),
        (Self::FrequencyChange, 4),
        (Self::Tunnel, 3),
        (Self::Corrected, 6),
        (Self::Chat, 1),
        (Self::TwoInARow, 6),
        (Self::OtherBand, 4),
        (Self::BySign, 12),
    ];
}

impl ConversationSource {
    /// Writes a conversation; one of two bands gives two episodes.
    pub(super) fn write(&mut self, kind: ConversationKind) -> Vec<DriveEpisode> {
        match kind {
            ConversationKind::AnsweredCq => vec![single::answered_cq(self)],
            ConversationKind::OwnCq => vec![single::own_cq(self)],
            ConversationKind::SpecialEvent => vec![single::special_event(self)],
            ConversationKind::FrequencyChange => vec![disturbed::frequency_change(self)],
            ConversationKind::Tunnel => vec![disturbed::tunnel(self)],
            ConversationKind::Corrected => vec![disturbed::corrected(self)],
            ConversationKind::Chat => vec![single::chat(self)],
            ConversationKind::BySign => vec![single::by_sign(self)],
            ConversationKind::OtherBand => single::other_band(self),
            ConversationKind::SeveralReplies => vec![several::several_replies(self)],
            ConversationKind::TwoInARow => vec![several::two_in_a_row(self)],
            ConversationKind::RepeaterRound => vec![several::repeater_round(self)],
            ConversationKind::Net => vec![several::net(self)],
            ConversationKind::PileUp => vec![overheard::pile_up(self)],
            ConversationKind::Overheard => vec![overheard::others(self)],
            ConversationKind::Unanswered => vec![overheard::unanswered(self)],
        }
    }
}
