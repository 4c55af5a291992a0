//! Doubts about a contact as it goes into the log.

doubts! {
    /// What is unusual about what a person typed or confirmed.
    pub enum EntryDoubt {
        /// The report given is not of the usual form.
        UnusualSent {
            /// As typed.
            report: String,
        } => "the report sent '{report}' is unusual; such as 59 is usual",
        /// The report received is not of the usual form.
        UnusualReceived {
            /// As typed.
            report: String,
        } => "the report received '{report}' is unusual; such as 59 is usual",
        /// Without a time a contact cannot be exported.
        NoTime => "its date and time are not known, so that it cannot be exported",
        /// The mode that was typed is none of the log's modes.
        UnknownMode {
            /// As typed.
            mode: String,
        } => "'{mode}' is no mode that is known here, such as USB, LSB, SSB, FM, AM or CW; it is written as it stands",
        /// Another entry may be the same contact.
        MayBeSame {
            /// The other entry's number.
            number: i64,
            /// What it says.
            entry: String,
        } => "perhaps the same contact as entry {number}: {entry}",
        /// Another entry of another station has the same time.
        SameTime {
            /// The other entry's number.
            number: i64,
            /// What it says.
            entry: String,
        } => "at the same time as entry {number}: {entry}",
    }
}
