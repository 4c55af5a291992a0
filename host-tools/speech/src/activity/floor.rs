//! The noise floor of one band: the least level of the last seconds.

/// Frames in one slot of the memory: about half a second.
const FLOOR_SLOT_FRAMES: u32 = 32;
/// Slots remembered: about four seconds, longer than talk goes without a pause.
const FLOOR_SLOTS: usize = 8;
/// Share of a new frame in the smoothed level: a time constant of 0.15 s.
const FLOOR_SMOOTHING: f32 = 0.1;
/// The least smoothed level of steady noise lies this much under its mean, in dB.
const BIAS_DB: f32 = 1.3;

/// Minimum statistics after Martin (2001), with a fixed correction.
#[derive(Debug, Clone)]
pub(super) struct NoiseFloor {
    smooth: Option<f32>,
    slots: [f32; FLOOR_SLOTS],
    frames: u32,
}

impl NoiseFloor {
    pub(super) fn new() -> Self {
        Self {
            smooth: None,
            slots: [f32::INFINITY; FLOOR_SLOTS],
            frames: 0,
        }
    }

    /// Takes a level in dB; gives the floor in dB.
    pub(super) fn track(&mut self, level: f32) -> f32 {
        let smooth = self
            .smooth
            .map_or(level, |smooth| smooth + FLOOR_SMOOTHING * (level - smooth));
        self.smooth = Some(smooth);
        if self.frames == FLOOR_SLOT_FRAMES {
            self.frames = 0;
            self.slots.rotate_right(1);
            self.slots[0] = smooth;
        }
        self.frames += 1;
        self.slots[0] = self.slots[0].min(smooth);
        self.slots.iter().copied().fold(f32::INFINITY, f32::min) + BIAS_DB
    }
}
