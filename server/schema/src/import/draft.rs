//! The dialect file, put together.

use std::sync::Arc;

use dialect::{AttributeDecl, DocumentKind, Draft, ElementDecl, ItemType, Marks, WordList};

use super::components::Site;
use super::facts::Facts;
use super::{Imported, Importer, NO, YES};
use crate::note::Notes;

impl Importer<'_> {
    pub(super) fn draft(
        mut self,
        file: &str,
        roots: &[usize],
        elements: Vec<(String, Facts)>,
    ) -> Imported {
        let mut notes = std::mem::take(&mut self.notes);
        let stem = stem(file);
        let mut draft = Draft {
            name: stem.clone(),
            title: stem,
            doc: self.schema_doc(),
            documents: self.documents(roots, &mut notes),
            ..Draft::default()
        };
        let global = notes.clone().into_vec();
        for (key, facts) in elements {
            draft.elements.push(element(key, facts, &mut notes));
        }
        // What the root says about itself need not be said of its documents too.
        let said = |doc: &String| {
            draft
                .elements
                .iter()
                .any(|(element, _)| element.doc == *doc)
        };
        for document in &mut draft.documents {
            document.doc = Some(std::mem::take(&mut document.doc))
                .filter(|doc| !said(doc))
                .unwrap_or_default();
        }
        let words = |words: [&str; 2]| words.map(str::to_owned).to_vec();
        let is_boolean =
            |value: &AttributeDecl| matches!(value.value.item, ItemType::Boolean { .. });
        if values(&draft).any(is_boolean) {
            (draft.notation.yes, draft.notation.no) = (words(YES), words(NO));
        }
        name_words(&mut draft);
        draft.remarks = vec![format!(
            "Made from {} by `trunnion dialect import`. What the schema says and a dialect cannot stands in comments.",
            file.rsplit(['/', '\\']).next().unwrap_or(file)
        )];
        draft
            .remarks
            .extend(global.iter().map(|note| capitalised(&note.to_string())));
        Imported {
            toml: draft.write(),
            notes: notes.into_vec(),
        }
    }

    fn schema_doc(&self) -> String {
        let Some(schema) = self.components.schemas.first() else {
            return String::new();
        };
        let root = Site {
            schema: 0,
            node: schema.document.root_element(),
        };
        root.doc()
    }

    fn root_doc(&self, root: usize) -> String {
        let declaration = self.declarations.get(root);
        declaration.map_or_else(String::new, |declaration| declaration.site.doc())
    }

    fn documents(&self, roots: &[usize], notes: &mut Notes) -> Vec<DocumentKind> {
        let mut documents: Vec<DocumentKind> = Vec::new();
        for root in roots {
            let Some(name) = self.name(*root) else {
                continue;
            };
            documents.push(DocumentKind {
                name: name.local.to_owned(),
                doc: self.root_doc(*root),
                root: name.local.to_owned(),
                namespace: Some(name.namespace.unwrap_or_default().to_owned()),
                inner_namespaces: Vec::new(),
                files: Vec::new(),
                marks: Marks::default(),
                is_manifest: false,
                learnt: None,
            });
        }
        let all = self.components.all(super::Sort::Element);
        for (name, site) in all {
            let is_root = roots.iter().any(|root| self.name(*root) == Some(name));
            let own = roots.iter().any(|root| {
                self.name(*root)
                    .is_some_and(|root| root.namespace == name.namespace)
            });
            if !is_root && own && site.attribute("abstract") != Some("true") {
                notes.add_about(name.local, "these could be roots of documents too and are not taken for such; `--root NAME` says which are");
            }
        }
        documents
    }
}

/// A declaration with its key, and the comments above it.
fn element(key: String, facts: Facts, notes: &mut Notes) -> (ElementDecl, Vec<String>) {
    let mut comments = Vec::new();
    for lost in &facts.lost {
        if lost.about.is_empty() {
            comments.push(capitalised(&format!("{}.", lost.text)));
            notes.add_about(key.as_str(), lost.summary());
            continue;
        }
        comments.push(format!("{}: {}.", lost.about, lost.text));
        let about = match lost.about.as_str() {
            "text()" => key.clone(),
            attribute => format!("{key}/@{attribute}"),
        };
        notes.add_about(about, lost.summary());
    }
    let name = key.rsplit('/').next().unwrap_or(&key).to_owned();
    let element = ElementDecl {
        key,
        name,
        ..facts.element
    };
    (element, comments)
}

/// Puts word lists that stand under a name of their own where names are told apart; a second list of a name stays
/// with its attribute.
fn name_words(draft: &mut Draft) {
    let mut named: Vec<Arc<WordList>> = Vec::new();
    for value in values_mut(&mut draft.elements) {
        let ItemType::Word(list) = &mut value.value.item else {
            continue;
        };
        let Some(name) = &list.name else { continue };
        match named.iter().find(|known| known.name.as_ref() == Some(name)) {
            None => named.push(Arc::clone(list)),
            Some(known) if known == list => {}
            Some(_) => {
                *list = Arc::new(WordList {
                    name: None,
                    words: list.words.clone(),
                });
            }
        }
    }
    draft.word_lists = named;
}

fn values(draft: &Draft) -> impl Iterator<Item = &AttributeDecl> {
    let elements = draft.elements.iter();
    elements.flat_map(|(element, _)| element.attributes.iter().chain(&element.text))
}

fn values_mut(
    elements: &mut [(ElementDecl, Vec<String>)],
) -> impl Iterator<Item = &mut AttributeDecl> {
    let elements = elements.iter_mut();
    elements.flat_map(|(element, _)| element.attributes.iter_mut().chain(&mut element.text))
}

/// A file's name without folders and ending, and without blanks.
fn stem(file: &str) -> String {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    let stem = name
        .strip_suffix(".xsd")
        .or(name.strip_suffix(".xml"))
        .unwrap_or(name);
    let words: Vec<&str> = stem.split_whitespace().collect();
    match words.join("-") {
        empty if empty.is_empty() => "imported".to_owned(),
        name => name,
    }
}

fn capitalised(sentence: &str) -> String {
    let mut chars = sentence.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}
