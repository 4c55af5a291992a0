//! Config of sound, GPS and rig control.

use std::path::PathBuf;

use serde::Deserialize;

/// The sound device and what its channels are.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct SoundConfig {
    /// ALSA's name of the capture device, such as "plughw:CARD=Device"; the
    /// `check` command lists those that exist.
    pub device: String,
    /// Samples per second to ask of the device, 8000 to 384000. Left out: what the device
    /// prefers. The recording is always at 16 kHz.
    pub rate: Option<u32>,
    /// Channels to ask of the device, 1 to 64. Left out: what the device prefers.
    pub channels: Option<u16>,
    /// Frames per period to ask of the device. Left out: a quarter of a second, or as near
    /// to it as the device can come. Two periods are what the device holds while the system
    /// is busy.
    pub period_frames: Option<u32>,
    /// The receiver's channel, from 0.
    pub rx: u16,
    /// The operator's channel, from 0; may be the same as `rx`.
    pub tx: u16,
    /// Delay of the audio from the radio to the device, in milliseconds, 0 to 1000: a key
    /// edge cuts that much later in the samples.
    pub latency_ms: u32,
    /// Both channels below this peak, in dB relative to full scale, count as silence.
    pub silence_dbfs: f32,
    /// The alarm sounds after this many seconds of silence; a squelched receiver is silent
    /// for long. 0: never.
    pub silence_after_s: u32,
}

impl Default for SoundConfig {
    fn default() -> Self {
        Self {
            device: "default".to_owned(),
            rate: None,
            channels: None,
            period_frames: None,
            rx: 0,
            tx: 0,
            latency_ms: 0,
            silence_dbfs: -80.0,
            silence_after_s: 300,
        }
    }
}

impl SoundConfig {
    pub(super) fn check(&self) -> Result<(), String> {
        if let Some(rate) = self.rate
            && !(8_000..=384_000).contains(&rate)
        {
            return Err(format!("sound.rate is {rate}; it must be 8000 to 384000"));
        }
        if let Some(channels) = self.channels {
            if !(1..=64).contains(&channels) {
                return Err(format!("sound.channels is {channels}; it must be 1 to 64"));
            }
            if let Some((name, number)) = [("rx", self.rx), ("tx", self.tx)]
                .into_iter()
                .find(|&(_, number)| number >= channels)
            {
                return Err(format!(
                    "sound.{name} is {number}, but there are {channels} channels, counted from 0"
                ));
            }
        }
        if self.latency_ms > 1_000 {
            return Err(format!(
                "sound.latency_ms is {}; it must be 0 to 1000",
                self.latency_ms
            ));
        }
        if !(-120.0..=0.0).contains(&self.silence_dbfs) {
            return Err(format!(
                "sound.silence_dbfs is {}; it must be -120 to 0",
                self.silence_dbfs
            ));
        }
        Ok(())
    }
}

/// The GPS receiver: on a serial port, through gpsd, or none.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct GpsConfig {
    /// A receiver that sends NMEA 0183 on a serial port.
    pub serial: Option<SerialConfig>,
    /// gpsd's address and port, such as "127.0.0.1:2947".
    pub gpsd: Option<String>,
    /// Seconds after the start without a valid fix until the alarm sounds. 0: never.
    pub alarm_after_s: u32,
}

impl Default for GpsConfig {
    fn default() -> Self {
        Self {
            serial: None,
            gpsd: None,
            alarm_after_s: 180,
        }
    }
}

impl GpsConfig {
    /// A receiver is configured.
    pub const fn is_some(&self) -> bool {
        self.serial.is_some() || self.gpsd.is_some()
    }

    pub(super) fn check(&self) -> Result<(), String> {
        if self.serial.is_some() && self.gpsd.is_some() {
            return Err("gps.serial and gps.gpsd are both given; keep one of them".to_owned());
        }
        Ok(())
    }
}

/// A serial port.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SerialConfig {
    /// The port, such as "/dev/ttyACM0".
    pub device: PathBuf,
    /// Bits per second; most receivers use 9600 or 4800.
    #[serde(default = "default_baud")]
    pub baud: u32,
}

const fn default_baud() -> u32 {
    9_600
}

/// Rig control through `rigctld`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct DialConfig {
    /// rigctld's address and port, such as "127.0.0.1:4532". Left out: the
    /// dial is not recorded.
    pub rigctld: Option<String>,
    /// Seconds from one reading to the next, 0.1 to 60.
    pub every_s: f64,
}

impl Default for DialConfig {
    fn default() -> Self {
        Self {
            rigctld: None,
            every_s: 0.5,
        }
    }
}

impl DialConfig {
    pub(super) fn check(&self) -> Result<(), String> {
        if !(0.1..=60.0).contains(&self.every_s) {
            return Err(format!(
                "dial.every_s is {}; it must be 0.1 to 60",
                self.every_s
            ));
        }
        Ok(())
    }
}
