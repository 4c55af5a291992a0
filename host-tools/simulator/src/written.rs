//! Written conversations, with places for signs, names and reports: read from
//! text files, cast with values, and laid out as episodes of a drive. The format is
//! `tests/conversations/FORMAT.md`.

mod cast;
#[cfg(test)]
mod corpus_tests;
mod direction;
mod drive;
mod header;
mod kind;
mod read;
mod say;
mod sheet_error;
mod slot;
mod staging;
mod tables;
mod truth;
mod turn;

pub use direction::StageDirection;
pub use drive::{VoiceSource, WrittenDriveError, WrittenDriveWish, written_drive};
pub use header::{SignShape, StationLine, TempoWord, VoiceSex, WrittenDial};
pub use kind::WrittenKind;
pub use read::{
    LoggedStation, LoggedTruth, WrittenConversation, WrittenLine, read_sheet, read_sheets,
};
pub use sheet_error::{SheetError, SheetFault};
pub use slot::{
    FieldForm, SignForm, SignPart, SpellingWords, SpokenSlot, StationField, StationRef,
};
pub use staging::{ConversationStage, StagedOperator};
pub use turn::{TurnPart, TurnSpeaker, WrittenTurn};
