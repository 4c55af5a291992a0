//! Seeded random numbers that are the same on every machine.

/// A stream of random numbers: SplitMix64 (Steele, Lea and Flood, "Fast
/// splittable pseudorandom number generators", 2014).
///
/// Each use in the simulator draws from a stream of its own name, so that one
/// more draw in one place does not change the noise in another.
#[derive(Debug, Clone)]
pub struct SeededRandom(u64);

impl SeededRandom {
    /// The stream called `name` of the drive with this seed.
    pub fn stream(seed: u64, name: &str) -> Self {
        // FNV-1a, the published 64-bit constants.
        let hash = name.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
        });
        Self(Self(seed).bits() ^ hash)
    }

    /// 64 random bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number between `low` and `high`, all of them equally likely.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        let fraction = (self.bits() >> 11) as f64 / (1_u64 << 53) as f64;
        low + (high - low) * fraction
    }

    /// One of a list; `None` only when the list is empty.
    pub fn pick<'a, T>(&mut self, from: &'a [T]) -> Option<&'a T> {
        let index = self.between(0.0, from.len() as f64) as usize;
        from.get(index)
    }

    /// Nearly normal, mean 0, standard deviation 1, never beyond 3.5: the sum of
    /// four even numbers. Good enough for noise, quick, and free of the
    /// mathematical library, whose last digit differs between machines.
    pub fn normal(&mut self) -> f32 {
        let bits = self.bits();
        let sum: u32 = (0..4)
            .map(|part| (bits >> (16 * part)) as u32 & 0xffff)
            .sum();
        // Variance of one even number on 0..65536 is 65536²/12; of four, a third of 65536².
        (sum as f32 - 131_070.0) / 37_837.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_generator_is_the_published_one() {
        // First outputs for seed 1234567, as in the reference code's own test.
        let mut random = SeededRandom(1_234_567);
        let first: Vec<u64> = (0..5).map(|_| random.bits()).collect();
        assert_eq!(
            first,
            [
                6_457_827_717_110_365_317,
                3_203_168_211_198_807_973,
                9_817_491_932_198_370_423,
                4_593_380_528_125_082_431,
                16_408_922_859_458_223_821,
            ]
        );
    }

    #[test]
    fn normal_numbers_have_mean_0_and_deviation_1() {
        let mut random = SeededRandom::stream(1, "test");
        let drawn: Vec<f64> = (0..100_000).map(|_| f64::from(random.normal())).collect();
        let mean = drawn.iter().sum::<f64>() / 1e5;
        let variance = drawn.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / 1e5;
        assert!(mean.abs() < 0.01, "{mean}");
        assert!((variance - 1.0).abs() < 0.02, "{variance}");
    }

    #[test]
    fn streams_differ_by_seed_and_by_name() {
        let first = |seed, name| SeededRandom::stream(seed, name).bits();
        assert_ne!(first(1, "road"), first(2, "road"));
        assert_ne!(first(1, "road"), first(1, "band"));
        assert_eq!(first(1, "road"), first(1, "road"));
    }
}
