//! Finds the marker tones in recorded sound, to count samples by.

/// The place of a tone, in samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MarkerTone {
    /// Its first sample above half of its amplitude.
    pub first_sample: u64,
    /// Samples from there to the last such sample.
    pub length_samples: u64,
}

/// The first and the last tone in `sound`, which starts at sample `from`: the
/// first and the last stretch above `threshold`, which may fall below it for at
/// most `pause` samples.
pub fn find(
    sound: &[i16],
    from: u64,
    threshold: u16,
    pause: usize,
) -> Option<(MarkerTone, MarkerTone)> {
    let loud: Vec<usize> = sound
        .iter()
        .enumerate()
        .filter(|(_, sample)| sample.unsigned_abs() > threshold)
        .map(|(index, _)| index)
        .collect();
    let ends = |pair: &[usize]| pair[1] - pair[0] > pause;
    let (&first, &last) = (loud.first()?, loud.last()?);
    let first_end = loud
        .windows(2)
        .find(|pair| ends(pair))
        .map_or(last, |pair| pair[0]);
    let last_start = loud
        .windows(2)
        .rev()
        .find(|pair| ends(pair))
        .map_or(first, |pair| pair[1]);
    let tone = |start: usize, end: usize| MarkerTone {
        first_sample: from + start as u64,
        length_samples: (end - start) as u64,
    };
    Some((tone(first, first_end), tone(last_start, last)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_outermost_stretches_are_found() {
        let mut sound = vec![0_i16; 100];
        for loud in [10..20, 40..45, 70..90] {
            sound[loud].fill(-500);
        }
        let first = MarkerTone {
            first_sample: 1_010,
            length_samples: 9,
        };
        let last = MarkerTone {
            first_sample: 1_070,
            length_samples: 19,
        };
        assert_eq!(find(&sound, 1_000, 100, 5), Some((first, last)));
        assert_eq!(find(&sound, 0, 1_000, 5), None);
    }
}
