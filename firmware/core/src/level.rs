//! Measures how loud a channel is, so that a dead cable is noticed on the road and a wrong
//! gain at home.

/// The level recorded for digital silence, which has none in decibels.
pub const SILENCE_DBFS: f32 = -120.0;

/// The level of one channel over some time, in dB relative to full scale
/// (0 dB is a full-scale square wave, so a full-scale sine reads -3.01).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AudioLevel {
    /// Root mean square.
    pub rms_dbfs: f32,
    /// Highest magnitude.
    pub peak_dbfs: f32,
    /// Samples at either end of the scale.
    pub clipped: u32,
}

/// Measures the level of one channel.
#[derive(Debug, Clone, Default)]
pub struct InputLevelMeter {
    samples: u64,
    squares: u64,
    peak: u16,
    clipped: u32,
}

impl InputLevelMeter {
    /// A meter without samples.
    pub const fn new() -> Self {
        Self {
            samples: 0,
            squares: 0,
            peak: 0,
            clipped: 0,
        }
    }

    /// Takes one sample. Works for 2^33 samples (six days) between readings.
    pub fn push(&mut self, sample: i16) {
        let magnitude = sample.unsigned_abs();
        self.samples += 1;
        self.squares = self
            .squares
            .saturating_add(u64::from(magnitude) * u64::from(magnitude));
        self.peak = self.peak.max(magnitude);
        if sample == i16::MAX || sample == i16::MIN {
            self.clipped = self.clipped.saturating_add(1);
        }
    }

    /// The level since the last reading; `None` when no sample came.
    pub fn take(&mut self) -> Option<AudioLevel> {
        if self.samples == 0 {
            return None;
        }
        let mean = self.squares as f64 / self.samples as f64;
        let level = AudioLevel {
            rms_dbfs: dbfs(libm::sqrt(mean)),
            peak_dbfs: dbfs(f64::from(self.peak)),
            clipped: self.clipped,
        };
        *self = Self::new();
        Some(level)
    }
}

fn dbfs(magnitude: f64) -> f32 {
    if magnitude <= 0.0 {
        return SILENCE_DBFS;
    }
    let decibels = 20.0 * libm::log10(magnitude / 32_768.0);
    (decibels as f32).max(SILENCE_DBFS)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(samples: impl IntoIterator<Item = i16>, rms: f32, peak: f32, clipped: u32) {
        let mut meter = InputLevelMeter::new();
        samples.into_iter().for_each(|sample| meter.push(sample));
        let level = meter.take().unwrap();
        assert!((level.rms_dbfs - rms).abs() < 0.01, "{level:?}");
        assert!((level.peak_dbfs - peak).abs() < 0.01, "{level:?}");
        assert_eq!(level.clipped, clipped);
        assert_eq!(meter.take(), None, "a reading empties the meter");
    }

    #[test]
    fn known_signals_read_their_known_levels() {
        check([0; 100], SILENCE_DBFS, SILENCE_DBFS, 0);
        check([i16::MIN; 100], 0.0, 0.0, 100);
        check([16_384, -16_384], -6.0206, -6.0206, 0);
        // A full-scale sine: root mean square 3.01 dB below its peak.
        let sine = (0..16_000).map(|n| {
            let turn = core::f64::consts::TAU * f64::from(n) / 160.0;
            libm::round(32_767.0 * libm::sin(turn)) as i16
        });
        check(sine, -3.0103, 0.0, 100);
    }
}
