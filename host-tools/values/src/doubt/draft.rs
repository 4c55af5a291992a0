//! Doubts about what was heard, and about the contacts that were made of it.

doubts! {
    /// Why a person should look at a draft.
    pub enum DraftDoubt {
        /// No recogniser has listened to this.
        NotHeard => "not heard yet",
        /// A long stretch of listening in the middle.
        LongListening => "long listening in the middle: may be two contacts",
        /// One call, one answer, one transmission after it, and no more.
        OneExchange => "one short exchange only: may be a call in a pile-up",
        /// Received audio is missing: whether anybody answered is not known.
        AudioMissing => "received audio is missing: cannot tell who answered",
        /// The recording ends before the contact does.
        RecordingEnds => "the recording ends during the contact",
        /// The recording begins in the middle of the contact.
        RecordingBegins => "the recording begins during the contact",
        /// Marks far apart in one contact: it may be two.
        SeveralMarks => "marks far apart: may be two contacts",
        /// A mark with no contact near it.
        MarkAlone => "marked, but no contact was found near the mark",
        /// A call was made near the mark, but no exchange followed.
        MarkAtCall => "marked, but nobody replied to the call near the mark",
        /// Only speech of others is near the mark.
        MarkAtSpeech => "marked, but you did not transmit near the mark",
        /// Nobody's call sign was made out.
        NoSignHeard => "no call sign was made out",
        /// The call sign was heard once only.
        HeardOnce => "heard once",
        /// One letter of the call sign may be one or the other.
        Letter {
            /// The likelier.
            one: char,
            /// The other.
            other: char,
        } => "{one} or {other} in the call sign",
        /// The call sign may be read in ways that differ in more than a letter.
        SeveralReadings => "the call sign may be read in other ways",
        /// The operator was not heard to say the call sign.
        NotRepeated => "you were not heard to repeat the call sign",
        /// The operator's own call sign is not known, and they said this one more than
        /// others did.
        MayBeOwn => "may be your own call sign, which is not known",
        /// The overs may belong to no contact.
        MayBeNone => "may be no contact",
        /// Where the contact begins is not sure.
        StartUncertain => "may have begun earlier or later",
        /// Nothing of the kind was made out.
        NotMadeOut => "not made out",
        /// It was said once, or in different ways.
        Faint => "not clear",
        /// A word that announces a place was heard, and the place was not made out.
        PlaceSaid => "a place was said, and not made out",
        /// A person cut a contact in two, and it was said in the other part.
        NotInPart => "not heard in this part",
        /// An entry that a person worked on is missing in a newer draft.
        NotFoundAgain => "the newest draft does not find this contact any more",
    }
}
