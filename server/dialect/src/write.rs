//! Writes declarations as a dialect file that reads well.
//!
//! What is written is what a grammar consists of: documents, notation, words, elements and their values; and inputs
//! and roles, as far as somebody knows them.

mod elements;
mod roles;
mod scene_format;
mod toml;
mod values;

pub use roles::{RoleDraft, RoleValue};

use std::fmt::Write as _;
use std::sync::Arc;

use crate::documents::DocumentKind;
use crate::grammar::ElementDecl;
use crate::index_path::IndexPathNotation;
use crate::inputs::Inputs;
use crate::kinds::Kind;
use crate::notation::{EulerOrder, FileNotation, FilesFrom, Notation};
use crate::scene_format::XmlSceneFormat;
use crate::scope::NameScope;
use crate::units::{Quantity, Units};
use crate::value_type::{Word, WordList};
use toml::{key, line, one_or_array, quoted, remarks, section, table, text_line, texts_line};
use values::texts;

/// A dialect file in the making.
#[derive(Clone, Debug, Default)]
pub struct Draft {
    /// Sentences for a comment at the top.
    pub remarks: Vec<String>,
    /// Short name without blanks.
    pub name: String,
    /// Name for readers; may be empty.
    pub title: String,
    /// What it is about; may be empty.
    pub doc: String,
    /// Of the habits of writing: numbers, answers, index paths and files.
    pub notation: Notation,
    /// The kinds of documents.
    pub documents: Vec<DocumentKind>,
    /// The word lists that have a name.
    pub word_lists: Vec<Arc<WordList>>,
    /// Within what names belong to one thing only, for kinds where it is not the document.
    pub scopes: Vec<(Kind, NameScope)>,
    /// The elements, each with sentences for a comment above it.
    pub elements: Vec<(ElementDecl, Vec<String>)>,
    /// The game's axes and buttons.
    pub inputs: Inputs,
    /// Which constructs mean which concept.
    pub roles: Vec<RoleDraft>,
    /// How XML scenes are written, with sentences for a comment above it.
    pub scene_format: Option<(XmlSceneFormat, Vec<String>)>,
}

impl Draft {
    /// The dialect file.
    pub fn write(&self) -> String {
        let mut out = String::new();
        remarks(&mut out, &self.remarks);
        if !self.remarks.is_empty() {
            out.push('\n');
        }
        out.push_str("[dialect]\n");
        line(&mut out, "name", &quoted(&self.name));
        if self.title != self.name {
            text_line(&mut out, "title", &self.title);
        }
        text_line(&mut out, "doc", &self.doc);
        out.push_str("format = 1\n");
        self.write_notation(&mut out);
        for document in &self.documents {
            write_document(&mut out, document);
        }
        self.write_words(&mut out);
        self.write_inputs(&mut out);
        for (element, above) in &self.elements {
            out.push('\n');
            remarks(&mut out, above);
            self.write_element(&mut out, element);
        }
        self.roles.iter().for_each(|role| role.write(&mut out));
        if let Some((format, above)) = &self.scene_format {
            scene_format::write(&mut out, format, above, &self.notation);
        }
        out
    }

    /// What differs from what is taken where nothing is said.
    fn write_notation(&self, out: &mut String) {
        let (here, usual) = (&self.notation, Notation::default());
        let mut lines: Vec<(&str, String)> = Vec::new();
        if here.numbers.decimal_marks != usual.numbers.decimal_marks {
            let marks = here.numbers.decimal_marks.iter().map(char::to_string);
            lines.push(("decimal-mark", one_or_array(&marks.collect::<Vec<_>>())));
        }
        if here.numbers.vector_separator != usual.numbers.vector_separator {
            let mark = here.numbers.vector_separator.written();
            lines.push(("vector-separator", quoted(mark)));
        }
        if here.yes != usual.yes {
            lines.push(("yes", one_or_array(&here.yes)));
        }
        if here.no != usual.no {
            lines.push(("no", one_or_array(&here.no)));
        }
        if here.euler != usual.euler {
            let mut orders = EulerOrder::ALL.iter();
            let order = orders.find(|(_, order)| *order == here.euler);
            lines.extend(order.map(|(name, _)| ("euler", quoted(name))));
        }
        section(out, "units", &self.unit_lines());
        section(out, "notation", &lines);
        section(out, "notation.index-path", &self.index_path_lines());
        section(out, "notation.node-name", &self.node_name_lines());
        section(out, "files", &self.file_lines());
    }

    fn unit_lines(&self) -> Vec<(&'static str, String)> {
        let usual = Units::default();
        let units = Quantity::ALL.map(|quantity| self.notation.units.of(quantity));
        let units = units
            .into_iter()
            .filter(|unit| usual.of(unit.quantity) != *unit);
        units
            .map(|unit| (unit.quantity.as_str(), quoted(&unit.name)))
            .collect()
    }

    /// As arrays: nobody has explained them yet.
    fn write_inputs(&self, out: &mut String) {
        if self.inputs.is_empty() {
            return;
        }
        out.push_str("\n[inputs]\n");
        for (name, list) in [
            ("analog", &self.inputs.analog),
            ("digital", &self.inputs.digital),
        ] {
            texts_line(out, name, &texts(&list.words));
        }
    }

    fn index_path_lines(&self) -> Vec<(&'static str, String)> {
        let (here, usual) = (&self.notation.index_path, IndexPathNotation::default());
        let mut lines = Vec::new();
        if *here == usual {
            return lines;
        }
        lines.push(("separator", quoted(&here.separator)));
        if !here.root_number {
            lines.push(("root-number", "false".to_owned()));
        }
        let after_root = match here.root_number {
            true => here.separator.as_str(),
            false => "",
        };
        if here.after_root != after_root {
            lines.push(("after-root", quoted(&here.after_root)));
        }
        if here.after_root_always {
            lines.push(("after-root-always", "true".to_owned()));
        }
        if !here.root_mark.is_empty() {
            lines.push(("root-mark", quoted(&here.root_mark)));
        }
        lines.push(("first", here.first.to_string()));
        lines
    }

    fn node_name_lines(&self) -> Vec<(&'static str, String)> {
        let here = &self.notation.node_names;
        let mut lines = Vec::new();
        if let Some(separator) = &here.separator {
            lines.push(("separator", quoted(separator)));
        }
        if here.from_root {
            lines.push(("from", quoted("root")));
        }
        lines
    }

    fn file_lines(&self) -> Vec<(&'static str, String)> {
        let (here, usual) = (&self.notation.files, FileNotation::default());
        let mut lines = Vec::new();
        if let Some(prefix) = &here.game_prefix {
            lines.push(("game-prefix", quoted(prefix)));
        }
        if here.folder_separators != usual.folder_separators {
            let marks = here.folder_separators.iter().map(char::to_string);
            lines.push(("folder-separator", one_or_array(&marks.collect::<Vec<_>>())));
        }
        if here.from == FilesFrom::Mod {
            lines.push(("from", quoted("mod")));
        }
        lines
    }

    /// Lists without explanations are arrays of one table; each of the others is a table of its own.
    fn write_words(&self, out: &mut String) {
        let named = self.word_lists.iter();
        let named = named.filter_map(|list| Some((list.name.as_ref()?, &list.words)));
        let explained = |words: &[Word]| words.iter().any(|word| !word.doc.is_empty());
        let (tables, arrays): (Vec<_>, Vec<_>) = named.partition(|(_, words)| explained(words));
        if !arrays.is_empty() {
            out.push_str("\n[words]\n");
        }
        for (name, words) in arrays {
            texts_line(out, &key(name), &texts(words));
        }
        for (name, words) in tables {
            let _ = writeln!(out, "\n[words.{}]", key(name));
            for word in words {
                line(out, &key(&word.text), &quoted(&word.doc));
            }
        }
    }
}

fn write_document(out: &mut String, document: &DocumentKind) {
    out.push_str("\n[[document]]\n");
    line(out, "name", &quoted(&document.name));
    line(out, "root", &quoted(&document.root));
    if let Some(namespace) = &document.namespace {
        line(out, "namespace", &quoted(namespace));
    }
    texts_line(out, "inner-namespaces", &document.inner_namespaces);
    texts_line(out, "files", &document.files);
    texts_line(out, "holds", &document.marks.holds);
    let attributes = document.marks.attributes.iter();
    let attributes: Vec<(String, String)> = attributes
        .map(|(name, values)| match values.as_slice() {
            [] => (key(name), "true".to_owned()),
            values => (key(name), one_or_array(values)),
        })
        .collect();
    if !attributes.is_empty() {
        line(out, "root-attributes", &table(&attributes));
    }
    if document.is_manifest {
        out.push_str("manifest = true\n");
    }
    text_line(out, "doc", &document.doc);
    if let Some(learnt) = &document.learnt {
        line(out, "learnt", &elements::record(learnt));
    }
}
