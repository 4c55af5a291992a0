//! How loud a clip of speech is, and where it begins and ends.

use crate::sound::units::SCRIPT_SAMPLE_RATE;

/// 20 ms.
const FRAME: usize = SCRIPT_SAMPLE_RATE as usize / 50;

/// The root mean square over the frames that are within 25 dB of the loudest.
pub(crate) fn active_level(clip: &[f32]) -> f32 {
    let powers: Vec<f32> = clip.chunks(FRAME).map(power).collect();
    let loudest = powers.iter().copied().fold(0.0, f32::max);
    let active: Vec<f32> = powers
        .into_iter()
        .filter(|&power| power > loudest * 10_f32.powf(-2.5))
        .collect();
    (active.iter().sum::<f32>() / active.len().max(1) as f32).sqrt()
}

fn power(frame: &[f32]) -> f32 {
    frame.iter().map(|x| x * x).sum::<f32>() / frame.len() as f32
}

/// Cuts the frames at either end that are more than 40 dB below the loudest.
pub(crate) fn trim(clip: Vec<f32>) -> Vec<f32> {
    let powers: Vec<f32> = clip.chunks(FRAME).map(power).collect();
    let floor = powers.iter().copied().fold(0.0, f32::max) * 1e-4;
    let first = powers.iter().position(|&power| power > floor).unwrap_or(0);
    let last = powers.iter().rposition(|&power| power > floor).unwrap_or(0);
    clip.into_iter()
        .take((last + 1) * FRAME)
        .skip(first * FRAME)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn silence_around_the_words_is_cut_and_does_not_count_for_the_level() {
        let mut clip = vec![0.0; 5 * FRAME];
        clip.extend((0..10 * FRAME).map(|n| if n % 2 == 0 { 0.5 } else { -0.5 }));
        clip.extend(vec![0.0; 7 * FRAME]);
        assert!((active_level(&clip) - 0.5).abs() < 1e-6);
        assert_eq!(trim(clip).len(), 10 * FRAME);
    }
}
