//! What was learnt as a dialect file, to be read and edited by people.

mod values;

use crate::corpus::Corpus;
use crate::names::Exception;
use crate::rules::Child;
use crate::structure::{DocumentForm, ElementForm, Structure};
use crate::symbols::Symbol;
use dialect::{Notation, Separator};
use std::path::PathBuf;
use toml_edit::{Array, ArrayOfTables, DocumentMut, InlineTable, Item, Table, Value};

/// What stands at the head of the file.
#[derive(Clone, Debug)]
pub struct Head {
    /// Short name of the dialect, without blanks.
    pub name: String,
    /// Places are written from these folders on.
    pub roots: Vec<PathBuf>,
}

/// The version of the format of dialect files.
const FORMAT: i64 = 1;

/// The dialect file of what was learnt. [`dialect::Dialect::read`] reads it.
pub fn file(structure: &Structure, corpus: &Corpus, head: &Head) -> DocumentMut {
    let writer = Writer {
        structure,
        corpus,
        head,
    };
    let mut file = DocumentMut::new();
    file.insert("dialect", Item::Table(writer.header()));
    let mut documents = ArrayOfTables::new();
    for document in &structure.documents {
        documents.push(writer.document(document));
    }
    file.insert("document", Item::ArrayOfTables(documents));
    let notation = notation(&structure.notation);
    if !notation.is_empty() {
        file.insert("notation", Item::Table(notation));
    }
    let mut elements = Table::new();
    elements.set_implicit(true);
    for element in &structure.elements {
        for key in &element.keys {
            elements.insert(key, Item::Table(writer.element(element)));
        }
    }
    file.insert("element", Item::Table(elements));
    file
}

struct Writer<'a> {
    structure: &'a Structure,
    corpus: &'a Corpus,
    head: &'a Head,
}

impl Writer<'_> {
    fn header(&self) -> Table {
        let mut table = Table::new();
        table.insert("name", self.head.name.as_str().into());
        let files: u32 = self
            .structure
            .documents
            .iter()
            .map(|document| document.seen)
            .sum();
        let doc = match files {
            1 => "Learnt from one file.".to_owned(),
            files => format!("Learnt from {files} files."),
        };
        table.insert("doc", doc.into());
        table.insert("format", FORMAT.into());
        table
    }

    fn document(&self, document: &DocumentForm) -> Table {
        let mut table = Table::new();
        table.insert("name", document.name.as_str().into());
        table.insert("root", self.text(document.root).into());
        if let Some(namespace) = document.namespace {
            table.insert("namespace", self.text(namespace).into());
        }
        if !document.files.is_empty() {
            table.insert("files", Item::Value(texts(&document.files)));
        }
        table
    }

    fn element(&self, element: &ElementForm) -> Table {
        let mut table = Table::new();
        table.insert("strict", false.into());
        let mut learnt = InlineTable::new();
        learnt.insert("seen", count(element.seen.places));
        learnt.insert("files", count(element.seen.files));
        learnt.insert("places", self.places(&element.examples));
        table.insert("learnt", learnt.into());
        let content = &element.content;
        if !content.children.is_empty() {
            let children = content.children.iter().map(|child| self.child(child));
            table.insert("children", children.collect::<Array>().into());
        }
        if content.ordered {
            table.insert("order", "listed".into());
        }
        if content.open {
            table.insert("open", true.into());
        }
        let mut attributes = Table::new();
        for value in &element.values {
            let declared = self.value(value).into();
            match value.attribute {
                None => table.insert("text", declared),
                Some(name) => attributes.insert(self.text(name), declared),
            };
        }
        if !attributes.is_empty() {
            table.insert("attributes", Item::Table(attributes));
        }
        table
    }

    fn child(&self, child: &Child) -> String {
        let name = self.text(child.name);
        match (child.min, child.max) {
            (1, Some(1)) => name.to_owned(),
            (0, Some(1)) => format!("{name}?"),
            (0, None) => format!("{name}*"),
            (1, None) => format!("{name}+"),
            (min, None) => format!("{name}{{{min},}}"),
            (min, Some(max)) if min == max => format!("{name}{{{min}}}"),
            (min, Some(max)) => format!("{name}{{{min},{max}}}"),
        }
    }

    fn text(&self, symbol: Symbol) -> &str {
        self.corpus.text(symbol)
    }

    /// Places as people write them: file and line.
    fn places(&self, places: &[(u32, u32)]) -> Value {
        let places = places.iter().map(|(document, line)| {
            let place = Exception {
                document: *document,
                line: *line,
                value: Symbol::EMPTY,
            };
            self.below_root(place.place(self.corpus))
        });
        places.collect::<Array>().into()
    }

    /// A path from the library's folder on.
    fn below_root(&self, path: String) -> String {
        let path = path.replace('\\', "/");
        let roots = self.head.roots.iter();
        let roots = roots.map(|root| root.to_string_lossy().replace('\\', "/"));
        let below = roots.filter_map(|root| {
            let below = path.strip_prefix(root.trim_end_matches('/'))?;
            below.strip_prefix('/')
        });
        below
            .min_by_key(|below| below.len())
            .map(str::to_owned)
            .unwrap_or(path)
    }
}

fn count(count: u32) -> Value {
    i64::from(count).into()
}

/// A number without decimals if it needs none.
fn number(number: f64) -> Value {
    match number.fract() == 0.0 && number.abs() < 1e15 {
        true => (number as i64).into(),
        false => number.into(),
    }
}

/// A text, or an array of several.
fn texts<S: AsRef<str>>(texts: &[S]) -> Value {
    match texts {
        [only] => only.as_ref().into(),
        several => several.iter().map(AsRef::as_ref).collect::<Array>().into(),
    }
}

fn mark(separator: &Separator) -> &str {
    separator.written()
}

/// What differs from what is taken where nothing is said.
fn notation(notation: &Notation) -> Table {
    let usual = Notation::default();
    let mut table = Table::new();
    if notation.numbers.decimal_marks != usual.numbers.decimal_marks {
        let marks: Vec<String> = notation
            .numbers
            .decimal_marks
            .iter()
            .map(char::to_string)
            .collect();
        table.insert("decimal-mark", Item::Value(texts(&marks)));
    }
    if notation.numbers.vector_separator != usual.numbers.vector_separator {
        table.insert(
            "vector-separator",
            mark(&notation.numbers.vector_separator).into(),
        );
    }
    if notation.yes != usual.yes {
        table.insert("yes", Item::Value(texts(&notation.yes)));
    }
    if notation.no != usual.no {
        table.insert("no", Item::Value(texts(&notation.no)));
    }
    table
}
