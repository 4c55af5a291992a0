//! The way from another station's transmitter to the loudspeaker.

/// The way from the other transmitter to the loudspeaker.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RadioPath {
    /// Single sideband: steady noise, slow fading.
    Ssb {
        /// Active speech level over noise in 300 to 2,700 Hz, in dB.
        snr_db: f32,
        /// Depth of the fading, from top to bottom, in dB.
        fading_db: f32,
    },
    /// Frequency modulation: silent until a carrier opens the squelch.
    Fm {
        /// Active speech level over noise while the carrier stands, in dB.
        snr_db: f32,
        /// Noise burst after the carrier drops, in seconds.
        squelch_tail_s: f64,
    },
    /// Short wave as it is: two fading paths, and what else is on the band.
    Hf(ShortWaveChannel),
    /// Frequency modulation as a car hears it.
    Car(MobileFmChannel),
}

/// A short-wave channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShortWaveChannel {
    /// Mean active speech level over noise in 300 to 2,700 Hz, in dB.
    pub snr_db: f32,
    /// The second path comes this much later, in seconds.
    pub delay_s: f32,
    /// Doppler spread of either path, in hertz.
    pub spread_hz: f32,
    /// A carrier: hertz, and dB over the noise.
    pub carrier: Option<(f32, f32)>,
    /// Static crashes a minute.
    pub crashes: f32,
    /// Ignition noise: sparks a second, and their peak over the noise in dB.
    pub ignition: Option<(f32, f32)>,
    /// Speech of others on the next channel: hertz away, and dB over the noise.
    pub neighbour: Option<(f32, f32)>,
    /// The receiver's gain is so much higher without a signal than with the strongest, in dB;
    /// 0 where it is not controlled.
    pub agc_db: f32,
}

/// A very high frequency channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MobileFmChannel {
    /// Active speech level over noise while the carrier stands, in dB.
    pub snr_db: f32,
    /// Noise burst after the carrier drops, in seconds.
    pub squelch_tail_s: f64,
    /// A repeater: pitch of its courtesy beep in hertz, and how long its carrier
    /// stands after that, in seconds.
    pub repeater: Option<(f32, f64)>,
    /// Picket-fencing: fades a second, and the share of time in them.
    pub pickets: Option<(f32, f32)>,
}
