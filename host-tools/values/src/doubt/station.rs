//! Doubts about whose log this is.

doubts! {
    /// Why the own call sign may be wrong, or is not known.
    pub enum StationDoubt {
        /// Nobody wrote it down, and a sign that the operator keeps saying was taken.
        OwnCallTaken {
            /// The file that it should stand in.
            file: String,
            /// The sign.
            sign: String,
        } => "your own call sign is not known; write `call = \"...\"` into {file}. {sign} was taken for it: you keep saying it",
        /// Nobody wrote it down.
        OwnCallUnknown {
            /// The file that it should stand in.
            file: String,
        } => "your own call sign is not known; write `call = \"...\"` into {file}",
    }
}
