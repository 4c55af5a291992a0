//! A small slice of what the recogniser is judged on (host-tools/speech/model/MODEL.md),
//! made afresh from voices that Debian packages bring and that it was never trained on:
//! a real speaker's recorded words (asterisk-core-sounds-en-wav), joined into invented
//! call signs, and flite's, both through a simulated sideband channel. The floors lie a
//! little under what was measured.

#[cfg(test)]
mod channel;
#[cfg(test)]
mod signs;
#[cfg(test)]
mod voices;
