//! How loud a trip's audio is, measured in the audio itself.

use jumpseat_core::journal::AudioDirection;
use jumpseat_values::{AudioSide, Rounded, SoundDoubt};
use serde::Serialize;

use crate::{AudioSegment, SegmentState, SoundBlocks, Trip, TripError};

/// Audio level of one direction over the whole trip. Decibels are below full
/// scale: 0 is a full-scale square wave.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SoundLevel {
    /// Level of the loudest twentieth of all tenths of a second: speech.
    pub loud_dbfs: f64,
    /// Level of the quietest tenth of them: background.
    pub quiet_dbfs: f64,
    /// Highest magnitude.
    pub peak_dbfs: f64,
    /// The part of all samples that stand at either end of the scale, 0 to 1.
    pub clipped: f64,
}

/// Below this there was no sound at all: 16 bits end at -90 dB.
pub(crate) const SILENCE_DBFS: f64 = -90.0;

/// Samples in a tenth of a second at 16 kHz.
const LEVEL_BLOCK_SAMPLES: usize = 1600;

/// Below this speech is too low to be heard well by machine or ear.
const LOW_SPEECH_DBFS: f64 = -45.0;
/// More clipped samples than one in ten thousand are audible.
const MOST_CLIPPED_SHARE: f64 = 1e-4;

impl SoundLevel {
    /// What is wrong with the level of this side.
    pub fn doubt(&self, side: AudioSide) -> Option<SoundDoubt> {
        if self.clipped > MOST_CLIPPED_SHARE {
            let percent = Rounded::new(self.clipped * 100.0);
            Some(SoundDoubt::Clips { side, percent })
        } else if self.peak_dbfs <= SILENCE_DBFS {
            Some(SoundDoubt::Silent { side })
        } else if self.loud_dbfs < LOW_SPEECH_DBFS {
            let below_db = Rounded::new(-self.loud_dbfs);
            Some(SoundDoubt::TooLow { side, below_db })
        } else {
            None
        }
    }
}

/// Measures the level of samples as they come.
#[derive(Debug, Default)]
pub struct SoundLevelMeter {
    blocks: Vec<f64>,
    /// Of the tenth of a second that is not full yet: summed squares, and samples.
    power: f64,
    filled: usize,
    peak: u16,
    clipped: u64,
    samples: u64,
}

impl SoundLevelMeter {
    /// Takes a piece of sound of one direction.
    pub fn add(&mut self, samples: &[i16]) {
        self.add_part(samples);
        self.end_piece();
    }

    /// Takes a part of a piece, of which more comes: [`Self::end_piece`] ends it.
    pub fn add_part(&mut self, samples: &[i16]) {
        for &sample in samples {
            let magnitude = sample.unsigned_abs();
            self.power += f64::from(magnitude).powi(2);
            self.peak = self.peak.max(magnitude);
            self.clipped += u64::from(magnitude >= i16::MAX.unsigned_abs());
            self.filled += 1;
            if self.filled == LEVEL_BLOCK_SAMPLES {
                self.end_piece();
            }
        }
        self.samples += samples.len() as u64;
    }

    /// What comes next does not follow what came so far.
    pub fn end_piece(&mut self) {
        if self.filled > 0 {
            self.blocks.push(self.power / self.filled as f64);
            (self.power, self.filled) = (0.0, 0);
        }
    }

    /// What was measured; `None` without a sample.
    pub fn report(mut self) -> Option<SoundLevel> {
        self.end_piece();
        self.blocks.sort_by(f64::total_cmp);
        let last = self.blocks.len().checked_sub(1)?;
        let at = |part: f64| self.blocks.get((last as f64 * part) as usize);
        Some(SoundLevel {
            loud_dbfs: decibels(*at(0.95)?),
            quiet_dbfs: decibels(*at(0.1)?),
            peak_dbfs: decibels(f64::from(self.peak).powi(2)),
            clipped: self.clipped as f64 / self.samples as f64,
        })
    }
}

/// Mean square of 16-bit samples in decibels, not below [`SILENCE_DBFS`].
fn decibels(power: f64) -> f64 {
    let full = 32_768.0_f64.powi(2);
    (10.0 * (power / full).log10()).max(SILENCE_DBFS)
}

/// Measures receive and transmit audio. The last part lists, in plain words, the files that
/// cannot be read to their end.
pub(crate) fn measure_levels(trip: &Trip) -> (Option<SoundLevel>, Option<SoundLevel>, Vec<String>) {
    let (mut rx, mut tx) = (SoundLevelMeter::default(), SoundLevelMeter::default());
    let mut unread = Vec::new();
    for segment in trip.segments() {
        if segment.state == SegmentState::Missing {
            continue;
        }
        let meter = match segment.direction {
            AudioDirection::Rx => &mut rx,
            AudioDirection::Tx => &mut tx,
        };
        match measure(segment, meter) {
            Ok(count) if count < segment.count => unread.push(format!(
                "{}: ends after {count} of {} samples",
                segment.path.display(),
                segment.count
            )),
            Ok(_) => {}
            Err(error) => unread.push(error.to_string()),
        }
    }
    (rx.report(), tx.report(), unread)
}

/// Measures one file; gives the samples that were there.
fn measure(segment: &AudioSegment, meter: &mut SoundLevelMeter) -> Result<u64, TripError> {
    let mut count = 0;
    for samples in SoundBlocks::open(&segment.path, segment.count)? {
        let samples = samples?;
        count += samples.len() as u64;
        meter.add_part(&samples);
    }
    meter.end_piece();
    Ok(count)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(sample: impl Fn(usize) -> i16, expected: (f64, f64, f64)) {
        let mut meter = SoundLevelMeter::default();
        let samples: Vec<i16> = (0..16_000).map(sample).collect();
        meter.add(&samples);
        let report = meter.report().unwrap();
        let near = |a: f64, b: f64| (a - b).abs() < 0.05;
        let (loud, peak, clipped) = expected;
        assert!(
            near(report.loud_dbfs, loud)
                && near(report.peak_dbfs, peak)
                && (report.clipped - clipped).abs() < 1e-9,
            "{report:?}"
        );
    }

    #[test]
    fn known_waves_have_known_levels() {
        // A full-scale square wave; a sine has 3.01 dB less than its peak.
        check(
            |n| if n % 2 == 0 { i16::MAX } else { i16::MIN },
            (0.0, 0.0, 1.0),
        );
        check(
            |n| (3276.8 * (n as f64 * std::f64::consts::TAU / 16.0).sin()).round() as i16,
            (-23.01, -20.0, 0.0),
        );
        check(|_| 0, (SILENCE_DBFS, SILENCE_DBFS, 0.0));
    }

    #[test]
    fn no_audio_has_no_level() {
        assert_eq!(SoundLevelMeter::default().report(), None);
    }
}
