//! Random numbers from a seed: the same seed gives the same numbers on every machine.

use std::f64::consts::TAU;

/// A generator of random numbers with 64 bits of state.
///
/// # Source
/// `SplitMix64`: Steele, Lea & Flood 2014, Fast splittable pseudorandom number generators, OOPSLA.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Random {
    state: u64,
}

impl Random {
    /// A generator that starts from a seed.
    pub const fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    /// The next 64 random bits.
    pub const fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from 0 up to but not 1, in steps of 2⁻⁵³.
    #[expect(clippy::cast_precision_loss, reason = "53 bits fit a float exactly")]
    pub const fn uniform(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A whole number below `end`, each as likely; 0 when `end` is 0.
    ///
    /// # Source
    /// Lemire 2019, ACM Trans. Model. Comput. Simul. 29(1), with its rejection step.
    #[expect(clippy::cast_possible_truncation, reason = "the low and high half are meant")]
    pub const fn below(&mut self, end: u64) -> u64 {
        if end == 0 {
            return 0;
        }
        let threshold = end.wrapping_neg() % end;
        loop {
            let product = self.bits() as u128 * end as u128;
            if product as u64 >= threshold {
                return (product >> 64) as u64;
            }
        }
    }

    /// A standard normal number.
    ///
    /// # Source
    /// Box & Muller 1958, Ann. Math. Stat. 29:610.
    pub fn normal(&mut self) -> f64 {
        // 1 − uniform is never 0, so the logarithm is finite.
        let radius = (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        radius * (TAU * self.uniform()).cos()
    }

    /// Puts things into random order, each order as likely.
    pub fn shuffle<T>(&mut self, things: &mut [T]) {
        for last in (1..things.len()).rev() {
            let other = self.below(last as u64 + 1);
            things.swap(last, usize::try_from(other).unwrap_or(last));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_published_sequence_comes_out() {
        // SplitMix64 with seed 1234567: reference output of its C code, from memory.
        let expected = [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
            4_593_380_528_125_082_431,
            16_408_922_859_458_223_821,
        ];
        let mut random = Random::new(1_234_567);
        assert_eq!(expected.map(|_| random.bits()), expected);
    }

    #[test]
    fn normal_numbers_have_mean_0_and_variance_1() {
        let mut random = Random::new(1);
        let draws: Vec<f64> = (0..100_000).map(|_| random.normal()).collect();
        let mean = draws.iter().sum::<f64>() / 1e5;
        let variance = draws.iter().map(|z| (z - mean) * (z - mean)).sum::<f64>() / 1e5;
        // Four standard errors: 4/√n and 4·√(2/n).
        assert!(mean.abs() < 0.0127 && (variance - 1.0).abs() < 0.018, "{mean} {variance}");
    }

    #[test]
    fn every_whole_number_below_the_end_is_as_likely() {
        let mut random = Random::new(7);
        let mut hits = [0_u32; 6];
        for _ in 0..60_000 {
            hits[usize::try_from(random.below(6)).unwrap()] += 1;
        }
        // Four standard deviations of a binomial count: 4·√(10 000·5/6) = 365.
        assert!(hits.iter().all(|&hit| hit.abs_diff(10_000) < 365), "{hits:?}");
        assert_eq!(random.below(0), 0);
    }

    #[test]
    fn shuffling_loses_nothing() {
        let mut things: Vec<u32> = (0..50).collect();
        Random::new(3).shuffle(&mut things);
        assert_ne!(things, (0..50).collect::<Vec<_>>());
        things.sort_unstable();
        assert_eq!(things, (0..50).collect::<Vec<_>>());
    }
}
