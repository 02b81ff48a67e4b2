//! Lists of words.

use std::collections::HashSet;

use dialect::{Word, WordList};

/// A list of words with the name of its type. None if a word could not be told from another one, or is empty.
pub(super) fn word_list(words: Vec<Word>, name: Option<&str>, collapses: bool) -> Option<WordList> {
    let mut list: Vec<Word> = Vec::new();
    let mut met = HashSet::new();
    for mut word in words {
        if collapses {
            word.text = word.text.split_whitespace().collect::<Vec<_>>().join(" ");
        }
        let text = &word.text;
        if text.is_empty() || text.trim() != text || text.contains(char::is_control) {
            return None;
        }
        if met.insert(word.text.clone()) {
            list.push(word);
        }
    }
    Some(WordList {
        name: name.filter(|_| list.len() > 1).map(str::to_owned),
        words: list,
    })
}

/// The words of a pattern like `on|off`.
pub(super) fn words_of(pattern: &str) -> Option<Vec<Word>> {
    let is_plain = |c: char| c.is_alphanumeric() || "_- :".contains(c);
    let words: Vec<&str> = pattern.split('|').collect();
    let plain = words
        .iter()
        .all(|word| !word.is_empty() && word.chars().all(is_plain));
    plain.then(|| {
        let words = words.into_iter().map(|word| Word {
            text: word.to_owned(),
            doc: String::new(),
        });
        words.collect()
    })
}
