//! Closed lists of words against open text.
//!
//! A list counts as closed if one more file would hardly bring a new word. How likely a new
//! word is, is estimated after Good and Turing from the words that were met in one file only:
//! of `t` meetings of a file with a word, `s` were with a word that no other file has, so the
//! chance is about `(s + 1) / (t + 1)`; the one more keeps a handful of files from proving
//! anything. (Good 1953, The population frequencies of species.)

use crate::corpus::Corpus;
use crate::symbols::Symbol;
use crate::values::{Tally, Values};
use foldhash::{HashMap, HashMapExt as _};

/// A longer text is no word.
const LONGEST: usize = 48;

/// A list with more words is no help to anybody who reads it.
const MOST: usize = 250;

/// The words of a closed list, the most frequent first; `None` if the values are open text. `chance`:
/// the greatest chance of a new word, from 0 (no list is ever closed) to 1 (all are).
pub(crate) fn closed(values: &Values, corpus: &Corpus, chance: f64) -> Option<Vec<Symbol>> {
    let words = values.each.iter();
    let words: Vec<(&str, Tally)> = words
        .map(|(word, tally)| (corpus.text(*word), *tally))
        .collect();
    let each = values.each.iter();
    are_closed(&words, chance).then(|| each.map(|(word, _)| *word).collect())
}

/// Whether these are all words that there are.
fn are_closed(words: &[(&str, Tally)], chance: f64) -> bool {
    let is_word = |(text, _): &(&str, Tally)| {
        !text.is_empty()
            && text.len() <= LONGEST
            && text.trim() == *text
            && !text.contains(|c: char| c.is_control())
    };
    if words.len() < 2 || words.len() > MOST || !words.iter().all(is_word) {
        return false;
    }
    let (meetings, single) = words.iter().fold((0, 0), |(meetings, single), (_, tally)| {
        (meetings + tally.files, single + u32::from(tally.files == 1))
    });
    let new = (f64::from(single) + 1.0) / (f64::from(meetings) + 1.0);
    new <= chance
}

/// The least share of places with several words, if they are lists.
const SEVERAL: f64 = 0.2;

/// The words of lists, the most frequent first; `None` if the values are no lists of words out of a closed list.
/// `members`: the words of a value. `alone`: whether some must stand alone, since what is between the words may also be
/// in one. `chance`: as for [`closed`].
pub(crate) fn listed<'v>(
    values: &Values,
    corpus: &'v Corpus,
    chance: f64,
    alone: bool,
    members: impl Fn(&'v str) -> Vec<&'v str>,
) -> Option<Vec<&'v str>> {
    let mut words: Vec<(&str, Tally)> = Vec::new();
    let mut known: HashMap<&str, usize> = HashMap::new();
    // Per word, in how many different values it is.
    let mut uses: Vec<u32> = Vec::new();
    let (mut several, mut stands_alone) = (0, false);
    for (value, tally) in &values.each {
        let members = members(corpus.text(*value));
        match members.len() {
            1 => stands_alone = true,
            _ => several += tally.places,
        }
        for member in members {
            let at = *known.entry(member).or_insert_with(|| {
                words.push((member, Tally::default()));
                uses.push(0);
                words.len() - 1
            });
            let counted = &mut words[at].1;
            counted.places += tally.places;
            counted.files = (counted.files + tally.files).min(values.all.files);
            uses[at] += 1;
        }
        if words.len() > MOST {
            return None;
        }
    }
    // Words of a list come in ever new company; two words that only stand together are one name.
    let used_again = uses.iter().filter(|uses| **uses > 1).count();
    let are_lists = f64::from(several) >= SEVERAL * f64::from(values.all.places)
        && words.len() < values.each.len()
        && 3 * used_again >= 2 * uses.len()
        && (stands_alone || !alone);
    if !are_lists || !are_closed(&words, chance) {
        return None;
    }
    words.sort_by_key(|(_, tally)| std::cmp::Reverse(tally.places));
    Some(words.into_iter().map(|(word, _)| word).collect())
}
