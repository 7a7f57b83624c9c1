//! Chance from a seed, the same on every machine.

/// SplitMix64 (Steele, Lea and Flood, OOPSLA 2014).
pub struct Dice(pub u64);

impl Dice {
    /// A whole number below `most`.
    pub fn below(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) % most as u64) as usize
    }
}
