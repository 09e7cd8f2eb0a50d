//! Numbers that look random and are the same for the same seed (splitmix64).

/// A source of such numbers.
#[derive(Debug, Clone)]
pub(super) struct Dice(u64);

impl Dice {
    pub(super) const fn new(seed: u64) -> Self {
        Self(seed)
    }

    const fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from 0 up to `end`, `end` excluded.
    pub(super) const fn below(&mut self, end: u64) -> u64 {
        self.next() % end
    }

    pub(super) fn index(&mut self, length: usize) -> usize {
        usize::try_from(self.below(length as u64)).unwrap()
    }

    /// A number from −size to size.
    pub(super) fn around(&mut self, size: u64) -> i64 {
        self.below(2 * size + 1).cast_signed() - size.cast_signed()
    }

    pub(super) const fn one_in(&mut self, many: u64) -> bool {
        self.below(many) == 0
    }

    pub(super) fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        &from[self.index(from.len())]
    }
}
