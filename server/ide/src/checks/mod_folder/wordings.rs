//! Texts in the languages of a mod.

use foldhash::{HashMap, HashSet};

use machine::Wording;
use syntax::TextRange;

use crate::checks::site::Site;
use crate::{Finding, codes};

/// More places are counted only.
const MOST: usize = 100;

/// What a mod has of one key.
struct Text<'w> {
    /// The first time it is given.
    first: TextRange,
    languages: HashSet<&'w str>,
}

pub(super) fn check(site: &Site<'_>) -> Vec<Finding> {
    let wordings = &site.meaning.machine().wordings;
    let mut texts: HashMap<&str, Text<'_>> = HashMap::default();
    // With how many texts they have and where they come first, in the order of the document.
    let mut languages: Vec<(&str, TextRange, usize)> = Vec::new();
    let mut places: HashMap<&str, usize> = HashMap::default();
    for [(key, first), (name, range)] in wordings.iter().filter_map(complete) {
        let text = texts.entry(key).or_insert_with(|| Text {
            first,
            languages: HashSet::default(),
        });
        if text.languages.insert(name) {
            let place = *places.entry(name).or_insert_with(|| {
                languages.push((name, range, 0));
                languages.len() - 1
            });
            languages[place].2 += 1;
        }
    }
    let is_barely_there = |count: usize| 2 * count < texts.len();
    let mut findings = Vec::new();
    for (name, place, count) in &languages {
        if is_barely_there(*count) {
            let all = texts.len();
            let message = format!("The language `{name}` has {count} of {all} texts.");
            findings.push(codes::UNTRANSLATED_TEXT.at(*place, message));
        }
    }
    for (key, text) in &texts {
        let lack: Vec<String> = languages
            .iter()
            .filter(|(name, _, count)| !is_barely_there(*count) && !text.languages.contains(name))
            .map(|(name, ..)| format!("`{name}`"))
            .collect();
        if !lack.is_empty() {
            let lack = lack.join(", ");
            let message =
                format!("The text `{key}` is there in other languages, but not in {lack}.");
            findings.push(codes::UNTRANSLATED_TEXT.at(text.first, message));
        }
    }
    if !texts.is_empty() {
        findings.extend(missing(site, &texts));
    }
    findings
}

/// A wording with its key and its language.
fn complete(wording: &Wording) -> Option<[(&str, TextRange); 2]> {
    let (key, language) = wording.key.as_ref().zip(wording.language.as_ref())?;
    let said = [key, language].map(|said| (said.value.trim(), said.range));
    said.iter()
        .all(|(text, _)| !text.is_empty())
        .then_some(said)
}

/// Texts of controls that are in no language: each once.
fn missing(site: &Site<'_>, texts: &HashMap<&str, Text<'_>>) -> Vec<Finding> {
    let folder = &site.view.folder;
    let mut told = HashSet::default();
    let used = folder.inventory.texts.iter();
    let missing = used.filter(|used| {
        let key = used.text.trim();
        !key.is_empty() && !texts.contains_key(key) && told.insert(key)
    });
    missing
        .take(MOST)
        .map(|used| {
            let text = used.text.trim();
            let message = format!(
                "`{}` shows the text `{text}`, which the mod has in no language.",
                used.file
            );
            let path = Some(folder.root.join(&used.file));
            codes::MISSING_TEXT
                .at(site.root_name(), message)
                .see_in(path, used.range, "shown here")
        })
        .collect()
}
