//! Chance that can be repeated.

/// A generator of numbers that are random enough (Knuth, MMIX), the same in every run.
pub(crate) struct Random(pub(crate) u64);

impl Random {
    /// Less than the limit; 0 if that is 0.
    pub(crate) fn below(&mut self, limit: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % limit.max(1)
    }
}
