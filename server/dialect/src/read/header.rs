//! `[dialect]`, `[[document]]`, `[inputs]` and `[words]`.

use super::Reader;
use super::section::{Placed, Section, as_strings, wrong_type};
use crate::documents::{DocumentKind, Marks};
use crate::inputs::Inputs;
use crate::problem::Problems;
use crate::value_type::{Word, WordList};
use std::collections::HashSet;
use std::sync::Arc;
use toml::Spanned;
use toml::de::DeValue;

/// The version of the format that this reader knows.
const FORMAT: u32 = 1;

pub(super) struct Header {
    pub(super) name: String,
    pub(super) title: String,
    pub(super) doc: String,
}

impl Reader<'_> {
    /// `[dialect]`
    pub(super) fn header(&mut self, file: &mut Section<'_>) -> Header {
        let problems = &mut self.problems;
        let mut header = Header {
            name: String::new(),
            title: String::new(),
            doc: String::new(),
        };
        let Some(mut section) = file.section("dialect", "`[dialect]`", problems) else {
            if !file.has("dialect") {
                let what = "the dialect's name and the version of the format";
                file.missing_table("[dialect]", what, problems);
            }
            return header;
        };
        if let Some(name) = section.required("name", problems, "\"quay\"") {
            header.name = name.value.trim().to_owned();
            if header.name.contains(char::is_whitespace) {
                let message =
                    "the name of a dialect holds no blanks; put the long name into `title`";
                problems.report(name.place, message);
            }
        }
        let title = section.string("title", problems);
        header.title = title.map_or(header.name.clone(), |title| title.value.trim().to_owned());
        header.doc = section.doc(problems);
        match section.count("format", problems) {
            Some(format) if format.value != FORMAT => {
                let message = format!(
                    "this program reads format {FORMAT} of dialect files, not {}",
                    format.value
                );
                problems.report(format.place, message);
            }
            Some(_) => {}
            None if section.has("format") => {}
            None => section.missing("format", problems, "1"),
        }
        section.finish(problems);
        header
    }

    /// `[[document]]`
    pub(super) fn documents(&mut self, file: &mut Section<'_>) -> Vec<Placed<DocumentKind>> {
        let sections = file.sections("document", "`[[document]]`", &mut self.problems);
        if sections.is_empty() && !file.has("document") {
            let what = "a kind of document, by its root element";
            file.missing_table("[[document]]", what, &mut self.problems);
        }
        let mut documents: Vec<Placed<DocumentKind>> = Vec::new();
        for mut section in sections {
            let learnt = self.learnt(&mut section);
            let problems = &mut self.problems;
            let Some(mut kind) = document_kind(&mut section, problems, true) else {
                section.finish(problems);
                continue;
            };
            kind.learnt = learnt;
            let place = section.place.clone();
            section.finish(problems);
            if let Some(other) = documents.iter().find(|other| other.value.name == kind.name) {
                let message = format!(
                    "there is a document `{}` already; give this one another name",
                    other.value.name
                );
                problems.report(place.clone(), message);
            } else if let Some(other) = documents.iter().find(|other| {
                other.value.root == kind.root
                    && other.value.namespace == kind.namespace
                    && other.value.files == kind.files
                    && other.value.marks == kind.marks
            }) {
                let message = format!(
                    "document `{}` fits the same files as `{}`: same root and namespace; \
                     change one of them, or tell them apart by `holds` or `root-attributes`",
                    kind.name, other.value.name
                );
                problems.report(place.clone(), message);
            }
            documents.push(Placed { value: kind, place });
        }
        documents
    }

    /// `[inputs]`
    pub(super) fn inputs(&mut self, file: &mut Section<'_>) -> Inputs {
        let problems = &mut self.problems;
        let mut inputs = Inputs::default();
        if let Some(mut section) = file.section("inputs", "`[inputs]`", problems) {
            if let Some(value) = section.take("analog") {
                inputs.analog.words = words("analog", value, problems);
            }
            if let Some(value) = section.take("digital") {
                inputs.digital.words = words("digital", value, problems);
            }
            section.finish(problems);
        }
        inputs
    }

    /// `[words]`
    pub(super) fn word_lists(&mut self, file: &mut Section<'_>) {
        let problems = &mut self.problems;
        let Some(section) = file.section("words", "`[words]`", problems) else {
            return;
        };
        for (name, value) in section.entries() {
            let words = words(name.value, value, problems);
            if words.is_empty() {
                let message = format!("the word list `{}` holds no words", name.value);
                problems.report(name.place, message);
            }
            self.word_lists.push(Arc::new(WordList {
                name: Some(name.value.to_owned()),
                words,
            }));
        }
    }
}

/// The keys that say which documents are meant; with `name` and `manifest` for `[[document]]`.
pub(super) fn document_kind(
    section: &mut Section<'_>,
    problems: &mut Problems<'_>,
    named: bool,
) -> Option<DocumentKind> {
    let name = match named {
        true => section.required("name", problems, "\"machine\""),
        false => None,
    };
    let root = section.required("root", problems, "\"machine\"");
    let namespace = section.string("namespace", problems);
    let inner = match named {
        true => section.strings("inner-namespaces", problems),
        false => None,
    };
    let inner = inner.into_iter().flat_map(|inner| inner.value);
    let files = section.strings("files", problems);
    let doc = section.doc(problems);
    let marks = match named {
        true => marks(section, problems),
        false => Marks::default(),
    };
    let is_manifest = named && section.boolean("manifest", problems).unwrap_or(false);
    let mut patterns = Vec::new();
    for pattern in files.into_iter().flat_map(|files| files.value) {
        if pattern.value.contains(['/', '\\']) {
            let message = "a pattern is compared with the file's own name; leave out the folders";
            problems.report(pattern.place, message);
        } else if pattern.value.trim().is_empty() {
            problems.report(
                pattern.place,
                "this pattern is empty; write, for example, \"*.xml\"",
            );
        } else {
            patterns.push(pattern.value.to_owned());
        }
    }
    let root = root?;
    if !is_name(root.value) {
        let message = format!(
            "`{}` is no name for an element; write the root's name without prefix",
            root.value
        );
        problems.report(root.place, message);
        return None;
    }
    if named && name.is_none() {
        return None;
    }
    Some(DocumentKind {
        name: name.map_or_else(String::new, |name| name.value.trim().to_owned()),
        doc,
        root: root.value.to_owned(),
        namespace: namespace.map(|namespace| namespace.value.trim().to_owned()),
        inner_namespaces: inner.map(|one| one.value.trim().to_owned()).collect(),
        files: patterns,
        marks,
        is_manifest,
        learnt: None,
    })
}

/// `holds` and `root-attributes`: what tells a kind from others with the same root.
fn marks(section: &mut Section<'_>, problems: &mut Problems<'_>) -> Marks {
    let mut marks = Marks::default();
    let holds = section.strings("holds", problems);
    for name in holds.into_iter().flat_map(|holds| holds.value) {
        if is_name(name.value) {
            marks.holds.push(name.value.to_owned());
        } else {
            let message = format!(
                "`{}` is no name for an element; write names of children of the root, without prefix",
                name.value
            );
            problems.report(name.place, message);
        }
    }
    let label = "`root-attributes`";
    if let Some(attributes) = section.section("root-attributes", label, problems) {
        for (name, value) in attributes.entries() {
            let values = match value.get_ref() {
                DeValue::Boolean(true) => Vec::new(),
                _ => {
                    let values = as_strings(name.value, value, problems);
                    let values = values.into_iter().flat_map(|values| values.value);
                    values.map(|value| value.value.to_owned()).collect()
                }
            };
            marks.attributes.push((name.value.to_owned(), values));
        }
    }
    marks
}

/// A local name of XML, as far as it matters here.
pub fn is_name(text: &str) -> bool {
    let odd = |c: char| c.is_whitespace() || "/:<>&\"'=[]@()*?+{},;!#$%^|\\`~".contains(c);
    !text.is_empty()
        && !text.contains(odd)
        && !text.starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '.')
}

/// Words with or without explanation: an array of words, or a table from word to explanation.
pub(super) fn words(
    key: &str,
    value: &Spanned<DeValue<'_>>,
    problems: &mut Problems<'_>,
) -> Vec<Word> {
    let mut words: Vec<Word> = Vec::new();
    let mut known = HashSet::new();
    match value.get_ref() {
        DeValue::Array(members) => {
            for member in members.iter() {
                let Some(word) = super::section::as_string(key, member, problems) else {
                    continue;
                };
                if !known.insert(word.value) {
                    let message = format!("the word `{}` stands in this list twice", word.value);
                    problems.report(word.place, message);
                    continue;
                }
                words.push(Word {
                    text: word.value.to_owned(),
                    doc: String::new(),
                });
            }
        }
        DeValue::Table(table) => {
            for (word, doc) in super::section::entries(table) {
                let doc = super::section::as_string(word.value, doc, problems);
                words.push(Word {
                    text: word.value.to_owned(),
                    doc: doc.map_or_else(String::new, |doc| doc.value.trim().to_owned()),
                });
            }
        }
        other => {
            let expected = "an array of words, or a table of words with their explanations";
            problems.report(value.span(), wrong_type(key, expected, other));
        }
    }
    words
}
