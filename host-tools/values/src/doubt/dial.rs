//! Doubts about frequency, mode and band.

doubts! {
    /// Why a setting of the dial may be wrong, or is not known.
    pub enum DialDoubt {
        /// The last reading is old.
        OldReading {
            /// How old, seconds.
            age_s: u64,
        } => "the dial was last read {age_s} s before",
        /// Rig control failed after the last reading.
        LostSince => "rig control was lost since the dial was last read",
        /// The trip has no reading.
        NeverRead => "rig control never reported the dial in this trip"
            | "rig control never told the dial in this trip",
        /// It lies before the first reading.
        ReadLater {
            /// How long before, seconds.
            wait_s: u64,
        } => "the dial was first read {wait_s} s later",
        /// No reading came before the contact.
        Silent => "frequency not known: rig control was silent",
        /// The frequency belongs to no amateur band.
        NoBand => "the frequency is in no amateur band",
        /// Rig control's word for the mode has no place in the log's modes.
        UnknownMode {
            /// The word.
            mode: String,
        } => "rig control said mode '{mode}', which is none that is known here; it was left empty",
    }
}
