//! Numbers for tests: by chance, and the same each time.

/// Steele, Lea and Flood, "Fast Splittable Pseudorandom Number Generators" (2014): SplitMix64.
pub(crate) struct Random(u64);

impl Random {
    /// Different numbers for different seeds.
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5851_f42d_4c95_7f2d)
    }

    /// A number below `end`; 0 if there is none.
    pub(crate) fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        usize::try_from((z ^ (z >> 31)) % end.max(1) as u64).expect("it is small")
    }
}
