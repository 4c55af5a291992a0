//! Removes most of the noise around speech, with RNNoise's network, which works at 48 kHz
//! in frames of 10 ms.

use jumpseat_speech::resample::resample;
use nnnoiseless::DenoiseState;

const NETWORK_RATE: u32 = 48_000;
const NETWORK_FRAME: usize = DenoiseState::FRAME_SIZE;

/// As many samples as before, at the same places.
pub(super) fn clean(samples: &[i16], rate: u32) -> Vec<i16> {
    let plain: Vec<f32> = samples.iter().map(|&sample| f32::from(sample)).collect();
    let mut wide = resample(&plain, rate, NETWORK_RATE);
    let length = wide.len();
    // The output of the network is one frame late.
    wide.resize(length.next_multiple_of(NETWORK_FRAME) + NETWORK_FRAME, 0.0);
    let mut state = DenoiseState::new();
    let mut heard = Vec::with_capacity(wide.len());
    let mut out = [0.0; NETWORK_FRAME];
    for frame in wide.chunks_exact(NETWORK_FRAME) {
        state.process_frame(&mut out, frame);
        heard.extend_from_slice(&out);
    }
    heard.drain(..NETWORK_FRAME.min(heard.len()));
    heard.truncate(length);
    let mut narrow = resample(&heard, NETWORK_RATE, rate);
    narrow.resize(samples.len(), 0.0);
    narrow
        .into_iter()
        .map(|sample| {
            sample
                .round()
                .clamp(f32::from(i16::MIN), f32::from(i16::MAX)) as i16
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A generator of noise that is the same everywhere (xorshift).
    fn noise(count: usize) -> Vec<i16> {
        let mut state = 0x2545_f491_4f6c_dd1d_u64;
        (0..count)
            .map(|_| {
                state ^= state << 13;
                state ^= state >> 7;
                state ^= state << 17;
                (state % 4001) as i16 - 2000
            })
            .collect()
    }

    #[test]
    fn noise_alone_becomes_quiet_and_the_length_stays() {
        let noise = noise(32_017);
        let cleaned = clean(&noise, 16_000);
        assert_eq!(cleaned.len(), noise.len());
        let power = |samples: &[i16]| -> f64 {
            samples
                .iter()
                .map(|&sample| f64::from(sample).powi(2))
                .sum()
        };
        let (before, after) = (power(&noise[16_000..]), power(&cleaned[16_000..]));
        assert!(after < before / 10.0, "{after} of {before}");
        assert!(clean(&[], 16_000).is_empty());
    }
}
