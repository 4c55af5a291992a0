//! What speaks against a text being the call sign that was meant.

use std::fmt;

/// A reason to listen again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CallDoubt {
    /// The ITU has allocated this prefix to nobody.
    NotAllocated {
        /// The prefix in question.
        prefix: String,
    },
    /// Two administrations share the first two characters.
    SharedPrefix {
        /// The prefix in question.
        prefix: String,
        /// Their names.
        administrations: Vec<&'static str>,
    },
    /// The prefix has none of the regular forms.
    OddPrefix,
    /// No digit stands between prefix and suffix, as only a few administrations issue them.
    NoDigit,
    /// More than one digit: a special event station, or a slip.
    ManyDigits,
    /// Nothing follows the digits.
    NoSuffix,
    /// More than four characters after the digit: a special event station, or a slip.
    LongSuffix,
    /// A digit within the suffix.
    DigitInSuffix,
    /// Both sides of a stroke look like a home call; the longer suffix, else the first, was
    /// taken.
    TwoCalls {
        /// The one not taken.
        other: String,
    },
    /// What follows the stroke is no known addition and no country's prefix.
    UnknownAddition(String),
    /// What follows the stroke has two meanings.
    TwoMeanings {
        /// The addition in question.
        addition: String,
        /// What it may mean.
        meanings: &'static str,
    },
}

impl fmt::Display for CallDoubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotAllocated { prefix } => {
                write!(f, "the prefix {prefix} is allocated to nobody")
            }
            Self::SharedPrefix {
                prefix,
                administrations,
            } => {
                write!(
                    f,
                    "the prefix {prefix} may be {}",
                    administrations.join(" or ")
                )
            }
            Self::OddPrefix => f.write_str("the prefix has an unusual form"),
            Self::NoDigit => f.write_str("no digit between prefix and suffix"),
            Self::ManyDigits => {
                f.write_str("more than one digit: a special event station, or a slip")
            }
            Self::NoSuffix => f.write_str("no letters after the digits"),
            Self::LongSuffix => f.write_str("a long suffix: a special event station, or a slip"),
            Self::DigitInSuffix => f.write_str("a digit within the suffix"),
            Self::TwoCalls { other } => write!(f, "{other} beside the stroke is a call sign too"),
            Self::UnknownAddition(addition) => write!(f, "/{addition} is no addition that we know"),
            Self::TwoMeanings { addition, meanings } => {
                write!(f, "/{addition} may mean {meanings}")
            }
        }
    }
}
