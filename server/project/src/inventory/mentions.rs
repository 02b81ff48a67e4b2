//! Which files of a mod others name. Where a dialect does not know all the places that name files, scenes name their
//! buffers and pictures, and games leave endings out, only one thing is safe to say: nobody names it at all.

use std::borrow::Cow;
use std::collections::{HashMap, HashSet};

/// The words of the files' names, and who says them.
#[derive(Debug, Default)]
pub(super) struct Mentions {
    words: HashMap<String, Said>,
}

/// By whom a word is said.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Said {
    Nobody,
    One(String),
    Several,
}

impl Mentions {
    pub(super) fn of(files: &[String]) -> Self {
        let names = files.iter().flat_map(|file| {
            let (name, stem) = names(file);
            words(&name)
                .map(str::to_owned)
                .chain(words(&stem).map(str::to_owned))
                .collect::<Vec<_>>()
        });
        Self {
            words: names.map(|word| (word, Said::Nobody)).collect(),
        }
    }

    /// The words of names that stand in a file, whatever it is.
    pub(super) fn search(&self, bytes: &[u8]) -> HashSet<String> {
        let text: Cow<'_, str> = match bytes {
            [0xff, 0xfe, ..] | [0xfe, 0xff, ..] => {
                syntax::decode::bytes(bytes).unwrap_or_default().into()
            }
            _ => String::from_utf8_lossy(bytes),
        };
        let text = unescaped(&text.to_lowercase());
        let known = words(&text).filter(|word| self.words.contains_key(*word));
        known.map(str::to_owned).collect()
    }

    /// Notes what [`Self::search`] found in a file.
    pub(super) fn add(&mut self, file: &str, found: HashSet<String>) {
        for word in found {
            if let Some(said) = self.words.get_mut(&word) {
                *said = match said {
                    Said::Nobody => Said::One(file.to_owned()),
                    Said::One(_) | Said::Several => Said::Several,
                };
            }
        }
    }

    /// Whether another file names this one, with or without its ending.
    pub(super) fn is_mentioned(&self, file: &str) -> bool {
        let by_others = |word: &str| match self.words.get(word) {
            Some(Said::Several) => true,
            Some(Said::One(by)) => by != file,
            Some(Said::Nobody) | None => false,
        };
        let (name, stem) = names(file);
        words(&name).all(by_others) || words(&stem).all(by_others)
    }
}

/// The name of a file in lower case, with its ending and without.
fn names(file: &str) -> (String, String) {
    let name = file.rsplit('/').next().unwrap_or_default().to_lowercase();
    let stem = name
        .rsplit_once('.')
        .map_or(name.clone(), |(stem, _)| stem.to_owned());
    (name, stem)
}

/// What may be a name of a file, or a part of it between blanks and other signs.
fn words(text: &str) -> impl Iterator<Item = &str> {
    let is_in_name = |c: char| c.is_alphanumeric() || "-_.".contains(c);
    text.split(move |c| !is_in_name(c))
        .map(|word| word.trim_matches('.'))
        .filter(|word| !word.is_empty())
}

/// With what is written as `%20`, as in URIs.
fn unescaped(text: &str) -> String {
    if !text.contains('%') {
        return text.to_owned();
    }
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes();
    while let [first, after @ ..] = rest {
        let code = after.get(..2).filter(|_| *first == b'%');
        let code = code.and_then(|code| std::str::from_utf8(code).ok());
        match code.and_then(|code| u8::from_str_radix(code, 16).ok()) {
            Some(byte) => {
                bytes.push(byte);
                rest = &after[2..];
            }
            None => {
                bytes.push(*first);
                rest = after;
            }
        }
    }
    String::from_utf8_lossy(&bytes).to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unmentioned(files: &[(&str, &str)]) -> Vec<String> {
        let names: Vec<String> = files.iter().map(|(file, _)| (*file).to_owned()).collect();
        let mut mentions = Mentions::of(&names);
        for (file, text) in files {
            let found = mentions.search(text.as_bytes());
            mentions.add(file, found);
        }
        names
            .into_iter()
            .filter(|file| !mentions.is_mentioned(file))
            .collect()
    }

    #[test]
    fn whoever_is_named_in_another_file_is_named() {
        let files = [
            ("mod.xml", "<mod><machine file='rigs\\a.xml'/></mod>"),
            (
                "rigs/a.xml",
                "<rig scene=\"Big%20Rig.gltf\" tape='groan' icon='$dir$pics/icon.PNG'/>",
            ),
            ("rigs/Big Rig.gltf", "{\"uri\":\"b%C3%A4r.bin\"}"),
            ("rigs/bär.bin", "\0\0\0"),
            ("noises/groan.ogg", "OggS"),
            ("pics/icon.png", ""),
            ("pics/old.png", ""),
            (
                "rigs/spare.gltf",
                "{\"name\": \"spare\", \"uri\": \"spare.bin\"}",
            ),
            ("rigs/spare.bin", ""),
        ];
        assert_eq!(
            unmentioned(&files),
            ["mod.xml", "pics/old.png", "rigs/spare.gltf"]
        );
    }

    #[test]
    fn signs_of_all_kinds_are_no_trouble() {
        assert_eq!(
            unmentioned(&[("a", "%"), ("b", "%zz%4"), ("%41", "100%")]),
            ["a", "b", "%41"]
        );
        assert_eq!(unmentioned(&[("....", "x"), ("c", "....")]), ["c"]);
    }
}
