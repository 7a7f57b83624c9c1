//! Random numbers in streams that can be drawn in any order.
//!
//! Every variable has a stream of its own for every [`LANES`] draws, which its
//! key, the seed and the number of the block alone decide: what else is drawn,
//! in which order and on how many threads changes nothing. Two figures that
//! hang on the same part see the same part.
//!
//! The generator is xoshiro256++ (D. Blackman and S. Vigna, ACM Transactions
//! on Mathematical Software 47, 2021), normal values come by the ziggurat
//! method. It is not meant to keep secrets.

use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

/// Draws in a block, and numbers that a formula is evaluated for at once.
pub(super) const LANES: usize = 1024;

/// The draws of one variable for one block.
pub(super) struct Stream(Xoshiro256PlusPlus);

impl Stream {
    /// The stream of a variable's key for block number `block` under a seed.
    pub fn new(seed: u64, key: u64, block: u64) -> Stream {
        let state = mixed(mixed(mixed(seed) ^ key) ^ block);
        Stream(Xoshiro256PlusPlus::seed_from_u64(state))
    }

    /// Standard normal values, each put through a function.
    pub fn normals(&mut self, out: &mut [f64], value: impl Fn(f64) -> f64) {
        self.fill(out, |generator| value(StandardNormal.sample(generator)));
    }

    /// Values uniform between 0 and 1, neither of which ever comes, each put
    /// through a function.
    pub fn uniforms(&mut self, out: &mut [f64], value: impl Fn(f64) -> f64) {
        self.fill(out, |generator| value(uniform(generator)));
    }

    /// The sums of two such values, each put through a function.
    pub fn uniform_pairs(&mut self, out: &mut [f64], value: impl Fn(f64) -> f64) {
        self.fill(out, |generator| {
            value(uniform(generator) + uniform(generator))
        });
    }

    fn fill(&mut self, out: &mut [f64], draw: impl Fn(&mut Xoshiro256PlusPlus) -> f64) {
        // A copy of its own can stay in the processor's registers.
        let mut generator = self.0.clone();
        for value in out {
            *value = draw(&mut generator);
        }
        self.0 = generator;
    }
}

fn uniform(generator: &mut Xoshiro256PlusPlus) -> f64 {
    // 52 random bits make a float from 1 up to 2; half a step more centres the
    // values, so that their mean is exactly one half.
    const ONE: u64 = 1.0f64.to_bits();
    const HALF_STEP: f64 = f64::EPSILON / 2.0;
    f64::from_bits(ONE | (generator.next_u64() >> 12)) - (1.0 - HALF_STEP)
}

/// The output function of SplitMix64 (G. Steele, D. Lea and C. Flood, OOPSLA
/// 2014): every bit of the result hangs on every bit that goes in.
fn mixed(state: u64) -> u64 {
    let mut z = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn normals(seed: u64, key: u64, block: u64) -> [f64; LANES] {
        let mut out = [0.0; LANES];
        Stream::new(seed, key, block).normals(&mut out, |z| z);
        out
    }

    #[test]
    fn seed_key_and_block_each_make_another_stream() {
        let first = normals(1, 2, 3);
        assert_eq!(first, normals(1, 2, 3));
        for other in [
            normals(2, 2, 3),
            normals(1, 3, 3),
            normals(1, 2, 4),
            normals(2, 1, 3),
        ] {
            assert!(first.iter().zip(&other).all(|(a, b)| a != b));
        }
    }

    #[test]
    fn uniform_values_fill_the_open_interval() {
        let mut out = [0.0; LANES];
        let mut sum = 0.0;
        for block in 0..200 {
            Stream::new(7, 7, block).uniforms(&mut out, |u| u);
            assert!(out.iter().all(|&u| u > 0.0 && u < 1.0));
            sum += out.iter().sum::<f64>();
        }
        // Five standard errors.
        let mean = sum / (200.0 * LANES as f64);
        assert!((mean - 0.5).abs() < 5.0 * (1.0 / 12.0f64 / 204_800.0).sqrt());
    }
}
