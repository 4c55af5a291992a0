//! What names the recogniser as it is now.

/// 64 hexadecimal digits that stand for weights, vocabulary, calibration, every constant,
/// every step of the decoder and the form of a stored [`Hearing`](crate::Hearing). What was
/// heard by a recogniser with another fingerprint is to be heard again.
///
/// `build.rs` makes it of this crate's own files, so that nobody has to remember a version.
pub fn fingerprint() -> &'static str {
    env!("SPEECH_FINGERPRINT")
}
