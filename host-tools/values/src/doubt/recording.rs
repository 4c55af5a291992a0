//! Doubts about a recording as a whole.

use crate::Rounded;

doubts! {
    /// Why a recording is not good from beginning to end.
    pub enum RecordingDoubt {
        /// The recorder wrote no last record.
        NotEndedInOrder => "the recorder did not end in order: its last seconds may be lost",
        /// The same, said of a trip that was just drafted.
        BrokeOff => "the recording was not ended in order: the power went, or it is still running",
        /// Its date is not known.
        NoDate => "the date and time of this trip are not known; times are its own seconds",
        /// What was heard in it is no longer there.
        NotKept => "what was heard is not kept for this trip; drafting it again hears it",
        /// Parts of it have no audio.
        AudioLost {
            /// How much is lost, seconds.
            lost_s: Rounded<1>,
        } => "{lost_s} s of audio are lost",
        /// The clock is not known well everywhere.
        TimesUncertain {
            /// The largest uncertainty, seconds.
            worst_s: Rounded<1>,
        } => "some times are only known to ±{worst_s} s",
        /// The place is doubtful in some overs.
        PlaceUncertain {
            /// In how many.
            doubtful: usize,
            /// Of so many.
            overs: usize,
        } => "the place is not sure in {doubtful} of {overs} overs (no fix close in time, as in a tunnel); their drafts say so",
        /// The dial is doubtful in some overs.
        DialUncertain {
            /// In how many.
            doubtful: usize,
            /// Of so many.
            overs: usize,
        } => "the dial is not sure in {doubtful} of {overs} overs (rig control was silent); their drafts say so",
        /// The recorder reported a fault that lasted to the end.
        LastingFault {
            /// What the recorder said of it.
            detail: String,
        } => "trouble to the end: {detail}",
        /// Speech cannot be looked for at this rate.
        SampleRate {
            /// Samples per second of the recording.
            found: u32,
            /// Samples per second that are needed.
            wanted: u32,
        } => "the sound has {found} samples a second; speech is looked for at {wanted} only",
        /// The key line was down too long in one go.
        KeyStuck {
            /// Whole minutes.
            minutes: u32,
        } => "the key line was down for {minutes} minutes in one go: if it is stuck, contacts are missing; check its wire",
        /// Somebody spoke, and the key line was never down.
        KeyNeverDown => "the key line was never down, so no contact could be found: check its wire if you did transmit",
    }
}
