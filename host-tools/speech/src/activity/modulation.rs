//! How deeply the loudness moves at the pace of syllables.

use super::spectrum::BANDS;

/// Frames per second.
const FRAME_RATE_HZ: f32 = 62.5;
/// A syllable's band: what moves slower or faster is not speech.
const SLOW_HZ: f32 = 2.0;
const FAST_HZ: f32 = 8.0;
/// Time over which movement is averaged.
const MEMORY_S: f32 = 0.6;

/// How deeply a frame's surroundings move, in dB.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ModulationDepth {
    /// The loudness of the whole channel.
    pub(super) whole: f32,
    /// The band that moves third most.
    pub(super) third: f32,
    /// That band's share of the one that moves most, 0 to 1: small for what
    /// moves in one or two bands only (Morse, beeps, somebody tuning up).
    pub(super) even: f32,
}

/// Movement of one level.
#[derive(Debug, Clone, Copy, Default)]
struct LevelMovement {
    slow: f32,
    fast: f32,
    up: f32,
    down: f32,
}

impl LevelMovement {
    /// Depth in dB. A level that only rises, or only falls, has none: that is
    /// a carrier, a squelch or the rig's gain control, not a syllable.
    fn depth(&mut self, level: f32) -> f32 {
        self.fast += share(FAST_HZ) * (level - self.fast);
        self.slow += share(SLOW_HZ) * (self.fast - self.slow);
        let moved = self.fast - self.slow;
        let memory = 1.0 / (MEMORY_S * FRAME_RATE_HZ);
        self.up += memory * (moved.max(0.0).powi(2) - self.up);
        self.down += memory * (moved.min(0.0).powi(2) - self.down);
        (2.0 * self.up.min(self.down)).sqrt()
    }
}

/// Share of a new frame in a one-pole low-pass with this corner.
fn share(corner_hz: f32) -> f32 {
    1.0 - (-std::f32::consts::TAU * corner_hz / FRAME_RATE_HZ).exp()
}

/// Movement of every band and of all together.
#[derive(Debug, Clone)]
pub(super) struct SyllableModulation {
    bands: [LevelMovement; BANDS],
    whole: LevelMovement,
}

impl SyllableModulation {
    pub(super) fn new() -> Self {
        Self {
            bands: [LevelMovement::default(); BANDS],
            whole: LevelMovement::default(),
        }
    }

    /// Takes the levels of one frame and their mean, in dB.
    pub(super) fn depth(&mut self, excess: &[f32; BANDS], loudness: f32) -> ModulationDepth {
        let whole = self.whole.depth(loudness);
        let mut depths: [f32; BANDS] = [0.0; BANDS];
        for ((depth, band), &level) in depths.iter_mut().zip(&mut self.bands).zip(excess) {
            *depth = band.depth(level);
        }
        depths.sort_by(|one, other| other.total_cmp(one));
        ModulationDepth {
            whole,
            third: depths[2],
            even: depths[2] / depths[0].max(f32::MIN_POSITIVE),
        }
    }
}
