//! Kinds of documents.

use crate::corpus::{Corpus, Source};
use crate::shapes::Marks;
use crate::structure::DocumentForm;
use crate::survey::{Group, Survey};
use crate::symbols::Symbol;
use std::collections::{BTreeMap, BTreeSet};

/// So many examples of a kind are kept.
const EXAMPLES: usize = 3;

/// A kind with more sorts of file names has no sort of its own.
const MOST_PATTERNS: usize = 4;

/// One kind for each group, with a name of its own.
pub(crate) fn of(survey: &Survey<'_>) -> Vec<DocumentForm> {
    let corpus = survey.corpus;
    let mut documents: Vec<DocumentForm> = Vec::new();
    for (at, group) in survey.groups.iter().enumerate() {
        let has_rival = survey
            .groups
            .iter()
            .any(|other| other.root == group.root && other.namespace != group.namespace);
        let root = corpus.text(group.root);
        let word = word(corpus, &group.marks);
        let plain = word.map_or(root.to_owned(), |word| format!("{root}-{word}"));
        let is_taken = |name: &str| documents.iter().any(|known| known.name == name);
        let name = std::iter::once(plain.clone())
            .chain((2..).map(|number| format!("{plain}-{number}")))
            .find(|name| !is_taken(name))
            .unwrap_or_default();
        let files = match group.marks.files.is_empty() {
            true => patterns(survey, group),
            false => group.marks.files.clone(),
        };
        let same_root = survey
            .groups
            .iter()
            .filter(|other| other.root == group.root && other.namespace == group.namespace);
        documents.push(DocumentForm {
            name,
            root: group.root,
            namespace: (has_rival || group.namespace != Symbol::EMPTY).then_some(group.namespace),
            inner: group.inner.clone(),
            files,
            marks: group.marks.clone(),
            groups: vec![at],
            is_manifest: false,
            seen: group.documents.len() as u32,
            of: same_root.map(|group| group.documents.len() as u32).sum(),
            examples: group.documents.iter().take(EXAMPLES).copied().collect(),
        });
    }
    documents
}

/// A word for what tells a kind from others with the same root.
fn word(corpus: &Corpus, marks: &Marks) -> Option<String> {
    let held = marks.holds.first().map(|name| corpus.text(*name));
    let said = marks
        .attribute
        .as_ref()
        .and_then(|(_, values)| values.first());
    let named = marks.files.first().map(|pattern| {
        let plain = pattern.trim_start_matches("*.");
        plain.strip_suffix(PLAIN).unwrap_or(plain)
    });
    let word = held.or(said.map(|value| corpus.text(*value))).or(named)?;
    let is_plain = |c: char| c.is_alphanumeric() || c == '-' || c == '_' || c == '.';
    (!word.is_empty() && word.len() <= 40 && word.chars().all(is_plain)).then(|| word.to_owned())
}

/// The name of a file, or of an archive's member, in lower case.
pub(crate) fn file_name(source: &Source) -> String {
    match &source.member {
        Some(member) => member.rsplit('/').next().unwrap_or_default().to_lowercase(),
        None => {
            let name = source.file.file_name().unwrap_or_default();
            name.to_string_lossy().to_lowercase()
        }
    }
}

/// Patterns for the names of a group's files, such as `*.rig.xml`: all of its files have them. Empty if
/// some have names that any document may have.
fn patterns(survey: &Survey<'_>, group: &Group) -> Vec<String> {
    let mut by_pattern: BTreeMap<String, usize> = BTreeMap::new();
    for name in all_names(survey, group) {
        let Some(pattern) = pattern(&name) else {
            return Vec::new();
        };
        *by_pattern.entry(pattern).or_default() += 1;
    }
    // One file alone may be called anything.
    let is_habit = |(pattern, files): (&String, &usize)| *files > 1 || !pattern.ends_with(PLAIN);
    match by_pattern.len() <= MOST_PATTERNS && by_pattern.iter().all(is_habit) {
        true => by_pattern.into_keys().collect(),
        false => Vec::new(),
    }
}

/// The names of a group's files.
pub(crate) fn names(survey: &Survey<'_>, group: &Group) -> Vec<String> {
    let names: BTreeSet<String> = all_names(survey, group).collect();
    names.into_iter().collect()
}

fn all_names(survey: &Survey<'_>, group: &Group) -> impl Iterator<Item = String> {
    let documents = group.documents.iter();
    documents.map(|at| file_name(&survey.corpus.documents[*at as usize].source))
}

/// The end of a name that says no more than that this is XML.
const PLAIN: &str = ".xml";

/// The end of a name that tells a sort of file.
pub(crate) fn pattern(name: &str) -> Option<String> {
    let is_sort = |end: &str| {
        !end.is_empty()
            && end.len() <= 16
            && end.bytes().all(|c| c.is_ascii_alphanumeric() || c == b'-')
    };
    let (stem, end) = name.rsplit_once('.')?;
    if name.ends_with(PLAIN) {
        let sort = stem.rsplit_once('.')?.1;
        let is_number = sort.bytes().all(|c| c.is_ascii_digit());
        return (is_sort(sort) && !is_number).then(|| format!("*.{sort}{PLAIN}"));
    }
    is_sort(end).then(|| format!("*.{end}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_end_of_a_name_tells_the_sort() {
        let patterns = [
            ("dorrik-9.rig.xml", Some("*.rig.xml")),
            ("dorrik.9.xml", None),
            ("dorrik.xml", None),
            ("dorrik.raft", Some("*.raft")),
            ("dorrik", None),
        ];
        for (name, expected) in patterns {
            assert_eq!(pattern(name).as_deref(), expected, "{name}");
        }
    }
}
