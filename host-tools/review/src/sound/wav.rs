//! Makes any part of a WAV file while it is sent.

use jumpseat_trip::{WAV_HEADER_BYTES, wav_header};

/// Length in bytes of a file with this many samples.
pub(super) const fn length(count: u64) -> u64 {
    WAV_HEADER_BYTES + count * 2
}

/// Bytes `from` to before `to` of the file; `read` gives samples by first and count,
/// and is asked only for those that are sent.
pub(super) fn bytes<E>(
    rate: u32,
    count: u64,
    from: u64,
    to: u64,
    read: impl FnOnce(u64, u64) -> Result<Vec<i16>, E>,
) -> Result<Vec<u8>, E> {
    let to = to.min(length(count));
    let mut out = Vec::new();
    if from < WAV_HEADER_BYTES {
        let header = wav_header(rate, count);
        // Within 44.
        let end = to.min(WAV_HEADER_BYTES) as usize;
        out.extend(header.get(from as usize..end).unwrap_or_default());
    }
    if to > WAV_HEADER_BYTES {
        let (first, end) = (
            from.max(WAV_HEADER_BYTES) - WAV_HEADER_BYTES,
            to - WAV_HEADER_BYTES,
        );
        let (sample, last) = (first / 2, end.div_ceil(2));
        let samples = read(sample, last - sample)?;
        let data: Vec<u8> = samples.iter().flat_map(|s| s.to_le_bytes()).collect();
        let skip = (first - sample * 2) as usize;
        let take = (end - first) as usize;
        out.extend(data.get(skip..).unwrap_or_default().iter().take(take));
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::convert::Infallible;

    fn part(from: u64, to: u64) -> Vec<u8> {
        let read = |first: u64, count: u64| {
            let samples = first..first + count;
            Ok::<_, Infallible>(samples.map(|n| n as i16 * 257).collect())
        };
        bytes(16_000, 100, from, to, read).unwrap()
    }

    #[test]
    fn every_stretch_is_that_of_the_whole() {
        let whole = part(0, length(100));
        assert_eq!(whole.len() as u64, length(100));
        for (from, to) in [
            (0, 10),
            (0, 44),
            (40, 50),
            (44, 46),
            (45, 47),
            (143, 244),
            (7, 243),
        ] {
            let range = from as usize..to as usize;
            assert_eq!(part(from, to), whole[range], "{from} to {to}");
        }
    }
}
