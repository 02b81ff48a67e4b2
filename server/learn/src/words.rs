//! Closed lists of words against open text.
//!
//! A list counts as closed if one more file would hardly bring a new word. How likely a new
//! word is, is estimated after Good and Turing from the words that were met in one file only:
//! of `t` meetings of a file with a word, `s` were with a word that no other file has, so the
//! chance is about `(s + 1) / (t + 1)`; the one more keeps a handful of files from proving
//! anything. (Good 1953, The population frequencies of species.)

use crate::corpus::Corpus;
use crate::symbols::Symbol;
use crate::values::Values;

/// A longer text is no word.
const LONGEST: usize = 48;

/// A list with more words is no help to anybody who reads it.
const MOST: usize = 250;

/// The words of a closed list, the most frequent first; `None` if the values are open text. `chance`:
/// the greatest chance of a new word, from 0 (no list is ever closed) to 1 (all are).
pub(crate) fn closed(values: &Values, corpus: &Corpus, chance: f64) -> Option<Vec<Symbol>> {
    let words = &values.each;
    if words.len() < 2 || words.len() > MOST {
        return None;
    }
    let is_word = |value: Symbol| {
        let text = corpus.text(value);
        !text.is_empty()
            && text.len() <= LONGEST
            && text.trim() == text
            && !text.contains(|c: char| c.is_control())
    };
    if !words.iter().all(|(value, _)| is_word(*value)) {
        return None;
    }
    let (meetings, single) = words.iter().fold((0, 0), |(meetings, single), (_, tally)| {
        (meetings + tally.files, single + u32::from(tally.files == 1))
    });
    let new = (f64::from(single) + 1.0) / (f64::from(meetings) + 1.0);
    (new <= chance).then(|| words.iter().map(|(word, _)| *word).collect())
}
