//! Why a person should look before a value goes into the log.
//!
//! Every kind of doubt is a variant of one of the families below, with the sentence that
//! a person reads. The sentence is also the stored form: a logbook and `--json` hold
//! plain text, and [`Doubt::read`] finds the kind again. What no family knows, such as
//! the words of the operating system or of an older program, is [`Doubt::Other`].
//!
//! A new kind is one variant with its sentence in the file of its family. Whoever changes
//! a sentence keeps the old one behind a `|`, so that stored drafts still read back.

#[macro_use]
mod sentence;

mod area;
mod call_sign;
mod dial;
mod draft;
mod entry;
mod place;
mod recording;
mod sound;
mod station;
mod time;

#[cfg(test)]
mod tests;

use std::fmt;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

pub use area::AreaDoubt;
pub use call_sign::CallSignDoubt;
pub use dial::DialDoubt;
pub use draft::DraftDoubt;
pub use entry::EntryDoubt;
pub use place::PlaceDoubt;
pub use recording::RecordingDoubt;
pub use sound::{AudioSide, SoundDoubt};
pub use station::StationDoubt;
pub use time::{ClockOrder, TimeDoubt};

families! {
    /// A reason to look. `Display` is the sentence for people, and the stored form.
    pub enum Doubt {
        /// The UTC of an instant.
        Time(TimeDoubt),
        /// The own place.
        Place(PlaceDoubt),
        /// Frequency, mode and band.
        Dial(DialDoubt),
        /// The county or country.
        Area(AreaDoubt),
        /// The form of a call sign.
        CallSign(CallSignDoubt),
        /// What was heard, and what was made of it.
        Draft(DraftDoubt),
        /// A contact as it goes into the log.
        Entry(EntryDoubt),
        /// Whose log this is.
        Station(StationDoubt),
        /// The level of the sound.
        Sound(SoundDoubt),
        /// The recording as a whole.
        Recording(RecordingDoubt),
    }
}

impl Serialize for Doubt {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Doubt {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer).map(|sentence| Self::read(&sentence))
    }
}
