//! Numbers that look random and are the same in every run.

/// A small generator (xorshift, Marsaglia 2003), so that a failure can be run again.
#[derive(Clone, Debug)]
pub struct Numbers(u64);

impl Numbers {
    /// `seed` must not be 0, which the generator never leaves.
    pub fn from(seed: u64) -> Self {
        Self(seed.max(1))
    }

    /// A number from 0 to `limit` - 1.
    pub fn below(&mut self, limit: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % limit as u64) as usize
    }
}
