//! The parts of a document that could not be read: broken tags, unknown elements, comments that swallow the rest.
//!
//! Whether a name is given or used in there nobody can say. So every word in there is remembered, and a name among
//! them is neither called unknown nor unused.

use std::hash::BuildHasher;

use foldhash::HashMap;
use foldhash::fast::FixedState;

/// More text than this is not cut into words: anything may stand in there. Bytes.
const MOST_TEXT: usize = 1 << 16;

/// The words of the parts that could not be read.
#[derive(Debug, Default)]
pub(super) struct Unread {
    /// With the number of parts that they are in.
    words: HashMap<Word, usize>,
    /// How many parts are too long to tell their words.
    unlimited: usize,
}

/// A word's hash. While somebody types, all words of a broken tag come and go with each key; and should two words ever
/// have the same, a name is passed over that is called unknown once the tag is whole.
type Word = u64;

/// The words of one part or of several.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Words {
    words: Vec<Word>,
    is_unlimited: bool,
}

impl Words {
    /// Adds the words of a text: as people see them, and whole values between quotes.
    pub(super) fn add(&mut self, part: &str) {
        if part.len() > MOST_TEXT {
            self.is_unlimited = true;
            return;
        }
        let between = |separator: fn(char) -> bool| {
            part.split(separator)
                .map(str::trim)
                .filter(|word| !word.is_empty())
                .map(word)
        };
        self.words
            .extend(between(|c| c.is_whitespace() || is_mark(c)));
        self.words.extend(between(is_mark));
    }

    /// Stands for words that nobody knows.
    pub(super) fn add_anything(&mut self) {
        self.is_unlimited = true;
    }

    fn is_empty(&self) -> bool {
        self.words.is_empty() && !self.is_unlimited
    }
}

impl Unread {
    pub(super) fn add(&mut self, part: &Words) {
        if part.is_empty() {
            return;
        }
        for word in &part.words {
            *self.words.entry(*word).or_default() += 1;
        }
        self.unlimited += usize::from(part.is_unlimited);
    }

    pub(super) fn remove(&mut self, part: &Words) {
        for word in &part.words {
            if let Some(count) = self.words.get_mut(word) {
                *count -= 1;
                if *count == 0 {
                    self.words.remove(word);
                }
            }
        }
        self.unlimited -= usize::from(part.is_unlimited);
    }

    /// Whether all of the document could be read.
    pub(super) fn is_empty(&self) -> bool {
        self.words.is_empty() && self.unlimited == 0
    }

    /// Whether something of this name may be given or used in there.
    pub(super) fn may_hold(&self, name: &str) -> bool {
        self.unlimited > 0 || self.words.contains_key(&word(name))
    }
}

/// What separates names and values in tags.
fn is_mark(c: char) -> bool {
    matches!(c, '<' | '>' | '=' | '"' | '\'')
}

fn word(text: &str) -> Word {
    FixedState::default().hash_one(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> Words {
        let mut words = Words::default();
        words.add(text);
        words
    }

    #[test]
    fn values_with_and_without_their_quotes_are_words() {
        let mut unread = Unread::default();
        unread.add(&words("<alias name=\"mast path=\"0/1\" note='left leg'/>"));
        assert!(
            ["mast", "0/1", "left leg", "leg"]
                .iter()
                .all(|word| unread.may_hold(word))
        );
        assert!(!unread.may_hold("mas"));
    }

    #[test]
    fn a_word_stays_as_long_as_one_part_has_it() {
        let mut unread = Unread::default();
        unread.add(&words("one two"));
        unread.add(&words("two"));
        unread.remove(&words("one two"));
        assert!(!unread.may_hold("one") && unread.may_hold("two"));
        unread.remove(&words("two"));
        assert!(unread.is_empty());
    }

    #[test]
    fn in_very_much_text_anything_may_stand() {
        let mut unread = Unread::default();
        let much = words(&"x ".repeat(MOST_TEXT));
        unread.add(&much);
        assert!(unread.may_hold("mast"));
        unread.remove(&much);
        assert!(unread.is_empty());
    }
}
