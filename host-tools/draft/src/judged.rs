//! A value that comes from judgement, with what speaks for and against it.

use std::fmt;

/// Where something was said or seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evidence {
    /// Index into [`crate::AssemblyInput::overs`].
    pub over: usize,
    /// Trip time at which it begins.
    pub start_s: f64,
    /// Trip time at which it ends.
    pub end_s: f64,
}

/// Another value that it may be.
#[derive(Debug, Clone, PartialEq)]
pub struct Alternative<T> {
    /// The value.
    pub value: T,
    /// How likely, 0 to 1.
    pub probability: f64,
}

/// A value, how sure it is, what else it may be, where it comes from, and why
/// it may be wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged<T> {
    /// The best value; `None` when nothing can be said.
    pub value: Option<T>,
    /// How likely the value is, 0 to 1; `None` when no model stated it.
    pub probability: Option<f64>,
    /// Other values, likeliest first.
    pub alternatives: Vec<Alternative<T>>,
    /// Where it comes from.
    pub evidence: Vec<Evidence>,
    /// Why it may be wrong, or why there is none.
    pub doubts: Vec<Doubt>,
}

impl<T> Judged<T> {
    /// Nothing can be said, for this reason.
    pub fn unknown(doubt: Doubt) -> Self {
        Self {
            value: None,
            probability: None,
            alternatives: Vec::new(),
            evidence: Vec::new(),
            doubts: vec![doubt],
        }
    }

    /// A value that follows from what was recorded.
    pub fn known(value: T, evidence: Vec<Evidence>) -> Self {
        Self {
            value: Some(value),
            probability: None,
            alternatives: Vec::new(),
            evidence,
            doubts: Vec::new(),
        }
    }

    /// The same with one more doubt.
    #[must_use]
    pub fn doubting(mut self, doubt: Doubt) -> Self {
        self.doubts.push(doubt);
        self
    }
}

/// Why a person should look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Doubt {
    /// No recogniser has listened to this.
    NotHeard,
    /// Rig control said nothing before this contact.
    DialSilent,
    /// A long stretch of listening in the middle.
    LongListening,
    /// One call, one answer, one transmission after it, and no more.
    OneExchange,
    /// Received audio is missing: whether anybody answered is not known.
    AudioMissing,
    /// The recording ends before the contact does.
    RecordingEnds,
    /// The recording begins in the middle of the contact.
    RecordingBegins,
    /// Marks far apart in one contact: it may be two.
    SeveralMarks,
    /// A mark with no contact near it.
    MarkAlone,
    /// A call was made near the mark, but no exchange followed.
    MarkAtCall,
    /// Only speech of others is near the mark.
    MarkAtSpeech,
    /// Nobody's call sign was made out.
    NoSignHeard,
    /// The call sign was heard once only.
    HeardOnce,
    /// One letter of it may be one or the other.
    Letter {
        /// The likelier.
        one: char,
        /// The other.
        other: char,
    },
    /// It may be read in ways that differ in more than a letter.
    SeveralReadings,
    /// The operator was not heard to say it.
    NotRepeated,
    /// The operator's own call sign is not known, and he said this one more than others did.
    MayBeOwn,
    /// The overs may belong to no contact.
    MayBeNone,
    /// Where the contact begins is not sure.
    StartUncertain,
    /// Nothing of the kind was made out.
    NotMadeOut,
    /// It was said once, or in different ways.
    Faint,
    /// The key line was down for so many minutes in one go.
    KeyStuck {
        /// Whole minutes.
        minutes: u32,
    },
    /// Somebody spoke, and the key line was never down.
    KeyNeverDown,
    /// A word that announces a place was heard, and the place was not made out.
    PlaceSaid,
}

impl fmt::Display for Doubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Letter { one, other } => {
                return write!(f, "{one} or {other} in the call sign");
            }
            Self::KeyStuck { minutes } => {
                return write!(
                    f,
                    "the key line was down for {minutes} minutes in one go: if it is stuck, \
                     contacts are missing; check its wire"
                );
            }
            _ => {}
        }
        f.write_str(match self {
            Self::NotHeard => "not heard yet",
            Self::DialSilent => "frequency not known: rig control was silent",
            Self::LongListening => "long listening in the middle: may be two contacts",
            Self::OneExchange => "one short exchange only: may be a call in a pile-up",
            Self::AudioMissing => "received audio is missing: cannot tell who answered",
            Self::RecordingEnds => "the recording ends during the contact",
            Self::RecordingBegins => "the recording begins during the contact",
            Self::SeveralMarks => "marks far apart: may be two contacts",
            Self::MarkAlone => "marked, but no contact was found near the mark",
            Self::MarkAtCall => "marked, but nobody replied to the call near the mark",
            Self::MarkAtSpeech => "marked, but you did not transmit near the mark",
            Self::NoSignHeard => "no call sign was made out",
            Self::HeardOnce => "heard once",
            Self::KeyNeverDown => {
                "the key line was never down, so no contact could be found: check its wire if \
                 you did transmit"
            }
            Self::Letter { .. } | Self::KeyStuck { .. } | Self::SeveralReadings => {
                "the call sign may be read in other ways"
            }
            Self::MayBeOwn => "may be your own call sign, which is not known",
            Self::NotRepeated => "you were not heard to repeat the call sign",
            Self::MayBeNone => "may be no contact",
            Self::StartUncertain => "may have begun earlier or later",
            Self::NotMadeOut => "not made out",
            Self::Faint => "not clear",
            Self::PlaceSaid => "a place was said, and not made out",
        })
    }
}
