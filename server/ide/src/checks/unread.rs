//! The parts of a document that could not be read: broken tags, unknown elements, comments that swallow the rest.
//!
//! Whether a name is given or used in there nobody can say. So every word in there is remembered, and a name among
//! them is neither called unknown nor unused.

use std::collections::HashSet;

use syntax::TextRange;

/// The words of the parts that could not be read.
#[derive(Debug, Default)]
pub(super) struct Unread<'t> {
    words: HashSet<&'t str>,
}

impl<'t> Unread<'t> {
    /// The words of `ranges`, which may overlap.
    pub(super) fn of(text: &'t str, mut ranges: Vec<TextRange>) -> Self {
        ranges.sort_by_key(|range| range.start());
        let mut words = HashSet::new();
        let mut done = 0;
        for range in ranges {
            let start = usize::from(range.start()).max(done);
            let end = usize::from(range.end());
            if let Some(part) = text.get(start..end.max(start)) {
                collect(part, &mut words);
            }
            done = done.max(end);
        }
        Self { words }
    }

    /// Whether all of the document could be read.
    pub(super) fn is_empty(&self) -> bool {
        self.words.is_empty()
    }

    /// Whether something of this name may be given or used in there.
    pub(super) fn may_hold(&self, name: &str) -> bool {
        self.words.contains(name)
    }
}

/// Words as people see them, and whole values between quotes.
fn collect<'t>(part: &'t str, words: &mut HashSet<&'t str>) {
    let between = |separator: fn(char) -> bool| {
        part.split(separator)
            .map(str::trim)
            .filter(|word| !word.is_empty())
    };
    words.extend(between(|c| c.is_whitespace() || "<>=\"'".contains(c)));
    words.extend(between(|c| "<>=\"'".contains(c)));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unread(text: &str) -> Unread<'_> {
        Unread::of(text, vec![TextRange::up_to(syntax::TextSize::of(text))])
    }

    #[test]
    fn values_with_and_without_their_quotes_are_words() {
        let unread = unread("<alias name=\"mast path=\"0/1\" note='left leg'/>");
        assert!(
            ["mast", "0/1", "left leg", "leg"]
                .iter()
                .all(|word| unread.may_hold(word))
        );
        assert!(!unread.may_hold("mas"));
    }

    #[test]
    fn only_the_ranges_are_read() {
        let range = |from: u32, to: u32| TextRange::new(from.into(), to.into());
        let unread = Unread::of("one two three", vec![range(4, 7), range(0, 5)]);
        assert!(unread.may_hold("one") && !unread.may_hold("three"));
    }
}
