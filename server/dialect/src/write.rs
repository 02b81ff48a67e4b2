//! Writes declarations as a dialect file that reads well.
//!
//! What is written is what a grammar consists of: documents, notation, words, elements and their values; and inputs
//! and roles, as far as somebody knows them.

mod roles;

pub use roles::{RoleDraft, RoleValue};

use std::fmt::Write as _;
use std::sync::Arc;

use crate::documents::DocumentKind;
use crate::grammar::{AttributeDecl, ChildRule, ElementDecl, Learnt, Order};
use crate::index_path::IndexPathNotation;
use crate::inputs::Inputs;
use crate::notation::{EulerOrder, FileNotation, FilesFrom, Notation};
use crate::numbers::Separator;
use crate::scope::NameScope;
use crate::units::{Quantity, Unit, Units};
use crate::value_type::{Bounds, ItemType, Kind, ListRule, Word, WordList};

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
}

/// Longest line that an array may fill before it is broken.
const WIDTH: usize = 120;

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
        if here.after_root != here.separator {
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

    fn write_element(&self, out: &mut String, element: &ElementDecl) {
        let name = key(&element.key);
        let _ = writeln!(out, "[element.{name}]");
        text_line(out, "doc", &element.doc);
        let children: Vec<String> = element.children.iter().map(child).collect();
        texts_line(out, "children", &children);
        if element.order == Order::Listed && element.children.len() > 1 {
            out.push_str("order = \"listed\"\n");
        }
        if let Some(text) = &element.text {
            line(out, "text", &self.declaration(text));
        }
        if element.open {
            out.push_str("open = true\n");
        }
        if !element.strict {
            out.push_str("strict = false\n");
        }
        if let Some(learnt) = &element.learnt {
            line(out, "learnt", &record(learnt));
        }
        match element.attributes.as_slice() {
            [] => {}
            [only] => {
                let name = format!("attributes.{}", key(&only.name));
                line(out, &name, &self.declaration(only));
            }
            several => {
                let _ = writeln!(out, "\n[element.{name}.attributes]");
                for attribute in several {
                    line(out, &key(&attribute.name), &self.declaration(attribute));
                }
            }
        }
    }

    /// The value of an attribute or text: the name of its type if that says all, else a table.
    fn declaration(&self, declared: &AttributeDecl) -> String {
        let mut pairs = match &declared.value.item {
            ItemType::Boolean { yes, no }
                if *yes == self.notation.yes && *no == self.notation.no =>
            {
                vec![("type", quoted("boolean"))]
            }
            item => item_pairs(item, &self.notation.numbers.vector_separator),
        };
        if let ItemType::NameOf(kind) = &declared.value.item
            && let Some((_, scope)) = self.scopes.iter().find(|(known, _)| known == kind)
        {
            pairs.push(("scope", quoted(scope.as_str())));
        }
        let around = &declared.value.around;
        for (key, text) in [
            ("before", &around.before),
            ("after", &around.after),
            ("begins-after", &around.begins_after),
            ("ends-before", &around.ends_before),
        ] {
            if !text.is_empty() {
                pairs.push((key, quoted(text)));
            }
        }
        if let Some(list) = &declared.value.list {
            pairs.push(("list", list_rule(list)));
        }
        if declared.required {
            pairs.push(("required", "true".to_owned()));
        }
        if let Some(default) = &declared.default {
            pairs.push(("default", quoted(default)));
        }
        if let Some(usual) = &declared.usual {
            pairs.push(("usual", quoted(usual)));
        }
        if !declared.doc.is_empty() {
            pairs.push(("doc", quoted(&declared.doc)));
        }
        if !declared.strict {
            pairs.push(("strict", "false".to_owned()));
        }
        if let Some(learnt) = &declared.learnt {
            pairs.push(("learnt", record(learnt)));
        }
        match pairs.as_slice() {
            [(_, only)] => only.clone(),
            several => table(several),
        }
    }
}

fn remarks(out: &mut String, sentences: &[String]) {
    for sentence in sentences {
        // A line break or a control character in it would end the comment, or the file.
        let plain = sentence.split(|c: char| c.is_whitespace() || c.is_control());
        let words: Vec<&str> = plain.filter(|word| !word.is_empty()).collect();
        let _ = writeln!(out, "# {}", words.join(" "));
    }
}

fn write_document(out: &mut String, document: &DocumentKind) {
    out.push_str("\n[[document]]\n");
    line(out, "name", &quoted(&document.name));
    line(out, "root", &quoted(&document.root));
    if let Some(namespace) = &document.namespace {
        line(out, "namespace", &quoted(namespace));
    }
    texts_line(out, "files", &document.files);
    if document.is_manifest {
        out.push_str("manifest = true\n");
    }
    text_line(out, "doc", &document.doc);
}

/// As `children` lists it: `part`, `part?`, `part{2,4}`.
fn child(rule: &ChildRule) -> String {
    let name = &rule.name;
    match (rule.min, rule.max) {
        (1, Some(1)) => name.clone(),
        (0, Some(1)) => format!("{name}?"),
        (0, None) => format!("{name}*"),
        (1, None) => format!("{name}+"),
        (min, None) => format!("{name}{{{min},}}"),
        (min, Some(max)) if min == max => format!("{name}{{{min}}}"),
        (min, Some(max)) => format!("{name}{{{min},{max}}}"),
    }
}

/// The keys that say what an item may be, `type` first.
fn item_pairs(item: &ItemType, usual: &Separator) -> Vec<(&'static str, String)> {
    let of_type = |name: &str| vec![("type", quoted(name))];
    match item {
        ItemType::Text => of_type("text"),
        ItemType::Boolean { yes, no } => {
            let mut pairs = of_type("boolean");
            pairs.push(("yes", one_or_array(yes)));
            pairs.push(("no", one_or_array(no)));
            pairs
        }
        ItemType::Integer { range } => {
            let mut pairs = of_type("integer");
            pairs.extend(bounds(range));
            pairs
        }
        ItemType::Number { range, unit } => {
            let mut pairs = of_type("number");
            pairs.extend(measured(unit.as_ref()));
            pairs.extend(bounds(range));
            pairs
        }
        ItemType::Vector {
            count,
            separator,
            range,
            unit,
        } => {
            let mut pairs = of_type("vector");
            pairs.push(("count", count.to_string()));
            pairs.extend(between(separator, usual));
            pairs.extend(measured(unit.as_ref()));
            pairs.extend(bounds(range));
            pairs
        }
        ItemType::Word(list) => {
            let mut pairs = of_type("word");
            pairs.push(("words", words(list)));
            pairs
        }
        ItemType::NameOf(kind) => {
            let mut pairs = of_type("name");
            pairs.push(("of", quoted(kind.as_str())));
            pairs
        }
        ItemType::Reference(kinds) => {
            let kinds: Vec<String> = kinds.iter().map(|kind| kind.as_str().to_owned()).collect();
            let mut pairs = of_type("reference");
            pairs.push(("of", one_or_array(&kinds)));
            pairs
        }
        ItemType::PositionOf { kind, first } => {
            let mut pairs = of_type("position");
            pairs.push(("of", quoted(kind.as_str())));
            pairs.push(("first", first.to_string()));
            pairs
        }
        ItemType::Node {
            aliases,
            index_path,
        } => {
            let mut accepts: Vec<String> = aliases
                .iter()
                .map(|kind| kind.as_str().to_owned())
                .collect();
            accepts.extend(index_path.then(|| "index-path".to_owned()));
            let mut pairs = of_type("node");
            pairs.push(("accepts", one_or_array(&accepts)));
            pairs
        }
        ItemType::IndexPath => of_type("index-path"),
        ItemType::File { extensions } => {
            let mut pairs = of_type("file");
            if !extensions.is_empty() {
                pairs.push(("extensions", one_or_array(extensions)));
            }
            pairs
        }
        ItemType::Input(kind) => {
            let mut pairs = of_type("input");
            pairs.extend(kind.map(|kind| ("kind", quoted(kind.as_str()))));
            pairs
        }
        ItemType::MovedValue { separator, units } => {
            let here = Units::default();
            let units = Quantity::ALL.map(|quantity| units.of(quantity).clone());
            let units = units
                .into_iter()
                .filter(|unit| here.of(unit.quantity) != unit);
            let units: Vec<String> = units.map(|unit| unit.name).collect();
            let mut pairs = of_type("moved-value");
            pairs.extend(between(separator, usual));
            if !units.is_empty() {
                pairs.push(("unit", one_or_array(&units)));
            }
            pairs
        }
    }
}

/// What stands between the numbers of a vector, unless it is the `usual` that stands there anyhow.
fn between(separator: &Separator, usual: &Separator) -> Option<(&'static str, String)> {
    (separator != usual).then(|| ("separator", quoted(separator.written())))
}

fn bounds(range: &Bounds) -> Vec<(&'static str, String)> {
    let low = range.min.map(|min| match range.above {
        true => ("above", number(min)),
        false => ("min", number(min)),
    });
    let high = range.max.map(|max| match range.below {
        true => ("below", number(max)),
        false => ("max", number(max)),
    });
    low.into_iter().chain(high).collect()
}

/// A number as TOML has it: a whole one without decimals.
fn number(number: f64) -> String {
    match number.fract() == 0.0 && number.abs() < 1e15 {
        true => format!("{number:.0}"),
        false => format!("{number:?}"),
    }
}

fn measured(unit: Option<&Unit>) -> Vec<(&'static str, String)> {
    let Some(unit) = unit else {
        return Vec::new();
    };
    vec![
        ("quantity", quoted(unit.quantity.as_str())),
        ("unit", quoted(&unit.name)),
    ]
}

fn words(list: &WordList) -> String {
    if let Some(name) = &list.name {
        return quoted(name);
    }
    if list.words.iter().all(|word| word.doc.is_empty()) {
        return array(&texts(&list.words));
    }
    let pairs = list.words.iter();
    let pairs: Vec<(String, String)> = pairs
        .map(|word| (key(&word.text), quoted(&word.doc)))
        .collect();
    table(&pairs)
}

fn texts(words: &[Word]) -> Vec<String> {
    words.iter().map(|word| word.text.clone()).collect()
}

fn list_rule(list: &ListRule) -> String {
    let mut pairs = Vec::new();
    if let Separator::Text(mark) = &list.separator {
        pairs.push(("separator", quoted(mark)));
    }
    if list.min > 0 {
        pairs.push(("min", list.min.to_string()));
    }
    if let Some(max) = list.max {
        pairs.push(("max", max.to_string()));
    }
    match pairs.as_slice() {
        [] => "true".to_owned(),
        pairs => table(pairs),
    }
}

fn record(learnt: &Learnt) -> String {
    let mut pairs = vec![("seen", learnt.seen.to_string())];
    if learnt.of > 0 && learnt.of != learnt.seen {
        pairs.push(("of", learnt.of.to_string()));
    }
    if learnt.files > 0 {
        pairs.push(("files", learnt.files.to_string()));
    }
    if let Some((least, greatest)) = learnt.range {
        let range = [("min", number(least)), ("max", number(greatest))];
        pairs.push(("range", table(&range)));
    }
    if !learnt.values.is_empty() {
        let values = learnt.values.iter();
        let values: Vec<(String, String)> = values
            .map(|(value, count)| (key(value), count.to_string()))
            .collect();
        pairs.push(("values", table(&values)));
    }
    if !learnt.places.is_empty() {
        pairs.push(("places", array(&learnt.places)));
    }
    if !learnt.exceptions.is_empty() {
        pairs.push(("exceptions", array(&learnt.exceptions)));
    }
    table(&pairs)
}

/// A table of its own, unless it is empty.
fn section(out: &mut String, name: &str, lines: &[(&str, String)]) {
    if !lines.is_empty() {
        let _ = writeln!(out, "\n[{name}]");
    }
    for (key, value) in lines {
        line(out, key, value);
    }
}

fn line(out: &mut String, key: &str, value: &str) {
    let _ = writeln!(out, "{key} = {value}");
}

/// A line for a text, unless it is empty.
fn text_line(out: &mut String, key: &str, text: &str) {
    if !text.is_empty() {
        line(out, key, &quoted(text));
    }
}

/// A line for an array of texts, unless it is empty; broken into lines if it is long.
fn texts_line(out: &mut String, key: &str, texts: &[String]) {
    if texts.is_empty() {
        return;
    }
    let whole = array(texts);
    if key.len() + whole.len() + 3 <= WIDTH {
        return line(out, key, &whole);
    }
    let _ = writeln!(out, "{key} = [");
    let mut row = String::new();
    for text in texts {
        let member = format!("{},", quoted(text));
        if !row.is_empty() && row.len() + member.len() + 3 > WIDTH {
            let _ = writeln!(out, "  {row}");
            row.clear();
        }
        if !row.is_empty() {
            row.push(' ');
        }
        row.push_str(&member);
    }
    let _ = writeln!(out, "  {row}\n]");
}

fn array(texts: &[String]) -> String {
    let members: Vec<String> = texts.iter().map(|text| quoted(text)).collect();
    format!("[{}]", members.join(", "))
}

fn one_or_array(texts: &[String]) -> String {
    match texts {
        [only] => quoted(only),
        several => array(several),
    }
}

fn table<K: AsRef<str>>(pairs: &[(K, String)]) -> String {
    let pairs: Vec<String> = pairs
        .iter()
        .map(|(key, value)| format!("{} = {value}", key.as_ref()))
        .collect();
    format!("{{ {} }}", pairs.join(", "))
}

/// A key of TOML, quoted if it must be.
fn key(name: &str) -> String {
    let bare = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    match !name.is_empty() && name.chars().all(bare) {
        true => name.to_owned(),
        false => quoted(name),
    }
}

/// A basic string of TOML, on one line.
fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
