//! Stretches of a text, thousands of them, to be asked whether one has something in common with another one.

use syntax::{TextRange, TextSize};

#[derive(Debug)]
pub(super) struct Stretches(
    /// By where they start: that, and where the farthest of those up to it ends.
    Vec<(TextSize, TextSize)>,
);

impl Stretches {
    pub(super) fn of(ranges: impl Iterator<Item = TextRange>) -> Self {
        let mut all: Vec<_> = ranges.map(|range| (range.start(), range.end())).collect();
        all.sort_unstable();
        let mut farthest = TextSize::default();
        for (_, end) in &mut all {
            farthest = farthest.max(*end);
            *end = farthest;
        }
        Self(all)
    }

    /// Whether one of them has something in common with the range.
    pub(super) fn touch(&self, range: TextRange) -> bool {
        let before = self.0.partition_point(|(start, _)| *start < range.end());
        let last = before.checked_sub(1).map(|last| self.0[last]);
        last.is_some_and(|(_, farthest)| farthest > range.start())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn range((from, to): (u32, u32)) -> TextRange {
        TextRange::new(TextSize::new(from), TextSize::new(to))
    }

    #[test]
    fn they_say_what_asking_each_would() {
        // Apart, touching, one in another, and empty.
        let all = [(8, 9), (0, 2), (2, 3), (12, 20), (13, 15), (16, 16)].map(range);
        let stretches = Stretches::of(all.into_iter());
        for from in 0..22 {
            for to in from..22 {
                let asked = range((from, to));
                let in_common = |one: &TextRange| {
                    let common = one.intersect(asked);
                    common.is_some_and(|common| !common.is_empty())
                };
                if !asked.is_empty() {
                    assert_eq!(
                        stretches.touch(asked),
                        all.iter().any(in_common),
                        "{asked:?}"
                    );
                }
            }
        }
        assert!(!Stretches::of([].into_iter()).touch(range((0, 9))));
    }
}
