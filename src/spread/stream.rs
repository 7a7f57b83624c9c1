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
        // A copy of its own can stay in the processor's registers.
        let mut generator = self.0.clone();
        for out in out {
            *out = value(StandardNormal.sample(&mut generator));
        }
        self.0 = generator;
    }

    /// Values uniform between 0 and 1, neither of which ever comes, each put
    /// through a function.
    pub fn uniforms(&mut self, out: &mut [f64], value: impl Fn(f64) -> f64) {
        let mut abreast = Abreast::of(&mut self.0);
        let mut bits = [0; HALF];
        for out in out.chunks_mut(2 * HALF) {
            abreast.fill(&mut bits);
            let (lower, upper) = out.split_at_mut(HALF.min(out.len()));
            for (out, &bits) in lower.iter_mut().zip(&bits) {
                *out = value(between(bits & u64::from(u32::MAX)));
            }
            for (out, &bits) in upper.iter_mut().zip(&bits) {
                *out = value(between(bits >> 32));
            }
        }
    }

    /// The sums of two such values, each put through a function.
    pub fn uniform_pairs(&mut self, out: &mut [f64], value: impl Fn(f64) -> f64) {
        let mut abreast = Abreast::of(&mut self.0);
        let mut bits = [0; HALF];
        for out in out.chunks_mut(HALF) {
            abreast.fill(&mut bits);
            for (out, &bits) in out.iter_mut().zip(&bits) {
                *out = value(between(bits & u64::from(u32::MAX)) + between(bits >> 32));
            }
        }
    }
}

/// Random numbers that are made before values are made of them: the processor
/// makes values of several at once, so the two do not go in one loop.
const HALF: usize = 64;
/// Generators that go side by side: one by one, each number waits for the one
/// before it. The states of more do not fit beside each other.
const ABREAST: usize = 2;

/// Several generators of the same kind, a step of all of which is a few
/// operations on rows of numbers.
struct Abreast([[u64; ABREAST]; 4]);

impl Abreast {
    /// Generators whose states another one decides.
    fn of(generator: &mut Xoshiro256PlusPlus) -> Abreast {
        // Not all of a state may be zero, and chance as good as never has it.
        let mut row = || std::array::from_fn(|_| generator.next_u64() | 1);
        Abreast([row(), row(), row(), row()])
    }

    /// Fills with the next numbers of each in turns.
    fn fill(&mut self, out: &mut [u64; HALF]) {
        // A copy of its own can stay in the processor's registers.
        let mut state = Abreast(self.0);
        for out in out.as_chunks_mut().0 {
            *out = state.next();
        }
        self.0 = state.0;
    }

    /// The next number of each: xoshiro256++.
    fn next(&mut self) -> [u64; ABREAST] {
        let [a, b, c, d] = &mut self.0;
        let mut result = [0; ABREAST];
        for at in 0..ABREAST {
            let sum = a[at].wrapping_add(d[at]);
            result[at] = sum.rotate_left(23).wrapping_add(a[at]);
            let shifted = b[at] << 17;
            c[at] ^= a[at];
            d[at] ^= b[at];
            b[at] ^= c[at];
            a[at] ^= d[at];
            c[at] ^= shifted;
            d[at] = d[at].rotate_left(45);
        }
        result
    }
}

/// A number between 0 and 1 from 32 random bits. Steps of 2.3e-10 of a range are
/// far below what anybody knows of how a part strays, and each number that is
/// drawn gives two.
fn between(bits: u64) -> f64 {
    // Beside 2^52 a float's last bits are a whole number; half a step more
    // centres the values, so that their mean is exactly one half.
    const WHOLE: f64 = (1u64 << 52) as f64;
    const STEP: f64 = 1.0 / (1u64 << 32) as f64;
    (f64::from_bits(WHOLE.to_bits() | bits) - (WHOLE - 0.5)) * STEP
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

    /// Truth: the generator of the crate `rand_xoshiro`, for the same states.
    #[test]
    fn generators_abreast_are_the_generator() {
        let mut one = Xoshiro256PlusPlus::seed_from_u64(2019);
        let mut abreast = Abreast::of(&mut one.clone());
        let states: Vec<u64> = (0..4 * ABREAST).map(|_| one.next_u64() | 1).collect();
        let mut apart: Vec<Xoshiro256PlusPlus> = (0..ABREAST)
            .map(|at| {
                let words = (0..4).flat_map(|word| states[word * ABREAST + at].to_le_bytes());
                let mut seed = [0; 32];
                seed.iter_mut().zip(words).for_each(|(to, from)| *to = from);
                Xoshiro256PlusPlus::from_seed(seed)
            })
            .collect();
        for _ in 0..100 {
            let found = abreast.next();
            let wanted: Vec<u64> = apart.iter_mut().map(Rng::next_u64).collect();
            assert_eq!(found.as_slice(), wanted);
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
