//! Doubts about a text being the call sign that was meant.

doubts! {
    /// A reason to listen again to a call sign.
    pub enum CallSignDoubt {
        /// The ITU has allocated this prefix to nobody.
        NotAllocated {
            /// The prefix in question.
            prefix: String,
        } => "the prefix {prefix} is allocated to nobody",
        /// Several administrations share the first two characters.
        SharedPrefix {
            /// The prefix in question.
            prefix: String,
            /// Their names, with "or" between them.
            administrations: String,
        } => "the prefix {prefix} may be {administrations}",
        /// The prefix has none of the regular forms.
        OddPrefix => "the prefix has an unusual form",
        /// No digit stands between prefix and suffix, as only a few administrations issue
        /// them.
        NoDigit => "no digit between prefix and suffix",
        /// More than one digit.
        ManyDigits => "more than one digit: a special event station, or a slip",
        /// Nothing follows the digits.
        NoSuffix => "no letters after the digits",
        /// More than four characters after the digit.
        LongSuffix => "a long suffix: a special event station, or a slip",
        /// A digit within the suffix.
        DigitInSuffix => "a digit within the suffix",
        /// Both sides of a stroke look like a home call; the longer suffix, else the
        /// first, was taken.
        TwoCalls {
            /// The one that was not taken.
            other: String,
        } => "{other} beside the stroke is a call sign too",
        /// What follows the stroke is no known addition and no country's prefix.
        UnknownAddition {
            /// The addition in question.
            addition: String,
        } => "/{addition} is no addition that we know",
        /// What follows the stroke has two meanings.
        TwoMeanings {
            /// The addition in question.
            addition: String,
            /// What it may mean.
            meanings: String,
        } => "/{addition} may mean {meanings}",
    }
}
