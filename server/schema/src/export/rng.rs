//! RELAX NG in XML: one definition for each kind of element.
//!
//! It can say what XML Schema cannot: any order with counts, and that elements and attributes of other namespaces are
//! left alone. It has no names and references.

use std::ops::Range;

use dialect::{AttributeDecl, Choice, Dialect, Order};

use super::grammar::{ElementType, Grammar};
use super::values::{Data, Form};
use super::xml::Xml;
use super::{heading, place, simple_type};
use crate::note::Notes;

const RNG: &str = "http://relaxng.org/ns/structure/1.0";
const DATATYPES: &str = "http://www.w3.org/2001/XMLSchema-datatypes";
const ANNOTATIONS: &str = "http://relaxng.org/ns/compatibility/annotations/1.0";
/// Definitions that are no element types: `/` cannot stand in their names, but `..` does not either.
const ANYTHING: &str = "any..thing";
const FOREIGN: &str = "foreign..elements";
const FOREIGN_ATTRIBUTES: &str = "foreign..attributes";

/// Of so many children at most it is said one after the other that each of them may be the one that must be there.
const MOST_WAYS: usize = 8;

/// Repetitions that are written out at most; RELAX NG cannot count.
const MOST_COPIES: u32 = 32;

pub(super) fn write(dialect: &Dialect, grammar: &Grammar<'_>, notes: &mut Notes) -> String {
    let mut writer = Writer {
        xml: Xml::new(),
        dialect,
        grammar,
        notes,
    };
    writer.grammar();
    writer.xml.finish()
}

struct Writer<'w, 'd> {
    xml: Xml,
    dialect: &'d Dialect,
    grammar: &'w Grammar<'d>,
    notes: &'w mut Notes,
}

impl Writer<'_, '_> {
    fn grammar(&mut self) {
        let grammar = self.grammar;
        self.xml.start(
            "grammar",
            &[
                ("xmlns", RNG),
                ("xmlns:a", ANNOTATIONS),
                ("datatypeLibrary", DATATYPES),
                ("ns", grammar.namespace),
            ],
        );
        self.doc(&heading(self.dialect));
        self.xml.start("start", &[]);
        self.xml.start("choice", &[]);
        for root in &grammar.roots {
            self.element(&root.kind.root, root.to);
        }
        self.xml.end();
        self.xml.end();
        for one in &grammar.types {
            self.definition(one);
        }
        self.common();
        self.xml.end();
        let gives_names = |value: &&AttributeDecl| {
            matches!(
                value.value.item,
                dialect::ItemType::NameOf(_) | dialect::ItemType::Reference(_)
            )
        };
        if grammar
            .types
            .iter()
            .flat_map(|one| one.declared.attributes.iter().chain(&one.declared.text))
            .any(|value| gives_names(&value))
        {
            self.notes
                .add("RELAX NG has no names and references; they may be any text");
        }
    }

    /// What stands in any definition.
    fn common(&mut self) {
        self.xml.start("define", &[("name", ANYTHING)]);
        self.xml.start("zeroOrMore", &[]);
        self.xml.start("choice", &[]);
        self.xml.empty("text", &[]);
        self.xml.start("attribute", &[]);
        self.xml.empty("anyName", &[]);
        self.xml.end();
        self.xml.start("element", &[]);
        self.xml.empty("anyName", &[]);
        self.xml.empty("ref", &[("name", ANYTHING)]);
        self.xml.end();
        self.xml.end();
        self.xml.end();
        self.xml.end();
        self.xml.start("define", &[("name", FOREIGN)]);
        self.xml.start("zeroOrMore", &[]);
        self.xml.start("element", &[]);
        self.any_name_but(&[("nsName", None)]);
        self.xml.empty("ref", &[("name", ANYTHING)]);
        self.xml.end();
        self.xml.end();
        self.xml.end();
        self.xml.start("define", &[("name", FOREIGN_ATTRIBUTES)]);
        self.xml.start("zeroOrMore", &[]);
        self.xml.start("attribute", &[]);
        self.any_name_but(&[("nsName", Some(""))]);
        self.xml.end();
        self.xml.end();
        self.xml.end();
    }

    /// All names but those of a namespace; None: the grammar's own.
    fn any_name_but(&mut self, excepted: &[(&'static str, Option<&str>)]) {
        self.xml.start("anyName", &[]);
        self.xml.start("except", &[]);
        for (name, namespace) in excepted {
            let attributes: Vec<(&str, &str)> = namespace
                .iter()
                .map(|namespace| ("ns", *namespace))
                .collect();
            self.xml.empty(name, &attributes);
        }
        self.xml.end();
        self.xml.end();
    }

    fn doc(&mut self, text: &str) {
        if !text.is_empty() {
            self.xml.text("a:documentation", &[], text);
        }
    }

    fn element(&mut self, name: &str, to: usize) {
        self.xml.start("element", &[("name", name)]);
        self.xml
            .empty("ref", &[("name", &self.grammar.types[to].name)]);
        self.xml.end();
    }

    fn definition(&mut self, one: &ElementType<'_>) {
        self.xml.start("define", &[("name", &one.name)]);
        self.doc(&one.declared.doc);
        for attribute in &one.declared.attributes {
            self.attribute(one, attribute);
        }
        if one.declared.open {
            self.open(one);
        } else {
            self.xml.empty("ref", &[("name", FOREIGN_ATTRIBUTES)]);
            self.content(one);
        }
        self.xml.end();
    }

    fn attribute(&mut self, one: &ElementType<'_>, attribute: &AttributeDecl) {
        if attribute.name.contains(':') {
            self.notes.add_about(
                place(one, &attribute.name),
                "attributes with a prefix are allowed, but not checked",
            );
            return;
        }
        let data = simple_type(self.dialect, one, attribute, None, self.notes);
        if !attribute.required {
            self.xml.start("optional", &[]);
        }
        let mut attributes = vec![("name", attribute.name.as_str()), ("ns", "")];
        if let Some(default) = attribute.default.as_deref().filter(|_| !attribute.required) {
            attributes.push(("a:defaultValue", default));
        }
        self.xml.start("attribute", &attributes);
        self.doc(&attribute.doc);
        self.value(&data);
        self.xml.end();
        if !attribute.required {
            self.xml.end();
        }
    }

    /// Known children with their counts, and whatever else there is.
    fn open(&mut self, one: &ElementType<'_>) {
        self.xml.start("zeroOrMore", &[]);
        self.xml.start("attribute", &[]);
        self.xml.start("anyName", &[]);
        let attributes = one.declared.attributes.iter();
        let names = attributes.map(|attribute| attribute.name.as_str());
        let mut names = names.filter(|name| !name.contains(':')).peekable();
        if names.peek().is_some() {
            self.xml.start("except", &[]);
            for name in names {
                self.xml.text("name", &[("ns", "")], name);
            }
            self.xml.end();
        }
        self.xml.end();
        self.xml.end();
        self.xml.end();
        self.xml.start("interleave", &[]);
        self.xml.empty("text", &[]);
        self.children(one);
        self.xml.start("zeroOrMore", &[]);
        self.xml.start("element", &[]);
        self.xml.start("anyName", &[]);
        if !one.children.is_empty() {
            self.xml.start("except", &[]);
            for (rule, _) in &one.children {
                self.xml.text("name", &[], &rule.name);
            }
            self.xml.end();
        }
        self.xml.end();
        self.xml.empty("ref", &[("name", ANYTHING)]);
        self.xml.end();
        self.xml.end();
        self.xml.end();
    }

    fn content(&mut self, one: &ElementType<'_>) {
        let declared = &*one.declared;
        match &declared.text {
            Some(text) if !one.holds_elements() => {
                let data = simple_type(self.dialect, one, text, Some(text.required), self.notes);
                self.doc(&text.doc);
                self.value(&data);
                return;
            }
            Some(text) if text.required || text.value.item != dialect::ItemType::Text => {
                self.notes.add_about(
                    place(one, &text.name),
                    "text beside elements is not checked",
                );
            }
            _ => {}
        }
        self.xml.start("interleave", &[]);
        if declared.text.is_some() {
            self.xml.empty("text", &[]);
        }
        self.xml.empty("ref", &[("name", FOREIGN)]);
        self.children(one);
        self.xml.end();
    }

    /// The children, as members of an `interleave` if their order is free.
    fn children(&mut self, one: &ElementType<'_>) {
        let is_group = one.declared.order == Order::Listed && one.children.len() > 1;
        if is_group {
            self.xml.start("group", &[]);
        }
        for (places, choice) in one.units() {
            match choice {
                Some(choice) => self.choice(one, places, choice),
                None => places.for_each(|at| self.child(one, at, None)),
            }
        }
        if is_group {
            self.xml.end();
        }
    }

    /// A child as often as its rule says, but at least `min` times.
    fn child(&mut self, one: &ElementType<'_>, at: usize, min: Option<u32>) {
        if let Some((rule, to)) = one.children.get(at) {
            let min = min.unwrap_or(rule.min);
            self.counted(one, &rule.name, *to, (min, rule.max));
        }
    }

    /// Children that stand for each other.
    fn choice(&mut self, one: &ElementType<'_>, places: Range<usize>, choice: &Choice) {
        let mut counts = places.clone().filter_map(|at| one.children.get(at));
        if !choice.is_exclusive() && counts.any(|(rule, _)| rule.max.is_some()) {
            return self.counted_choice(one, places, choice);
        }
        let around = match (choice.min, choice.max) {
            (1, Some(1)) => None,
            (0, Some(1)) => Some("optional"),
            (0, None) => Some("zeroOrMore"),
            (1, None) => Some("oneOrMore"),
            (min, _) => {
                self.notes.add_about(
                    one.name.as_str(),
                    "how many of several children that stand for each other there may be is looser",
                );
                Some(if min == 0 { "zeroOrMore" } else { "oneOrMore" })
            }
        };
        if let Some(around) = around {
            self.xml.start(around, &[]);
        }
        self.xml.start("choice", &[]);
        for at in places {
            match choice.is_exclusive() {
                true => self.child(one, at, Some(1)),
                false => {
                    if let Some((rule, to)) = one.children.get(at) {
                        self.element(&rule.name, *to);
                    }
                }
            }
        }
        self.xml.end();
        if around.is_some() {
            self.xml.end();
        }
    }

    /// Children in any order, of some of which there may not be many: so much of each, and of one of them at least one.
    fn counted_choice(&mut self, one: &ElementType<'_>, places: Range<usize>, choice: &Choice) {
        let must_be = choice.min > 0 && places.len() <= MOST_WAYS;
        if choice.max.is_some() || choice.min > u32::from(must_be) {
            self.notes.add_about(
                one.name.as_str(),
                "how many of several children that stand for each other there may be is looser",
            );
        }
        if !must_be {
            return self.side_by_side(one, places, None);
        }
        self.xml.start("choice", &[]);
        for needed in places.clone() {
            self.side_by_side(one, places.clone(), Some(needed));
        }
        self.xml.end();
    }

    fn side_by_side(&mut self, one: &ElementType<'_>, places: Range<usize>, needed: Option<usize>) {
        self.xml.start("interleave", &[]);
        for at in places {
            self.child(one, at, Some(u32::from(needed == Some(at))));
        }
        self.xml.end();
    }

    fn counted(
        &mut self,
        one: &ElementType<'_>,
        name: &str,
        to: usize,
        (min, max): (u32, Option<u32>),
    ) {
        let copies = max.unwrap_or(min);
        match (min, max) {
            (1, Some(1)) => self.element(name, to),
            (0, Some(1)) => self.wrapped("optional", name, to),
            (0, None) => self.wrapped("zeroOrMore", name, to),
            (1, None) => self.wrapped("oneOrMore", name, to),
            _ if copies > MOST_COPIES => {
                self.notes.add_about(
                    one.name.as_str(),
                    "RELAX NG cannot count that far; how often a child may stand is looser",
                );
                self.wrapped(if min == 0 { "zeroOrMore" } else { "oneOrMore" }, name, to);
            }
            _ => {
                // One after the other, but with others between them where the order is free.
                self.xml.start("group", &[]);
                for _ in 0..min {
                    self.element(name, to);
                }
                match max {
                    None => self.wrapped("zeroOrMore", name, to),
                    Some(max) => (min..max).for_each(|_| self.wrapped("optional", name, to)),
                }
                self.xml.end();
            }
        }
    }

    fn wrapped(&mut self, around: &'static str, name: &str, to: usize) {
        self.xml.start(around, &[]);
        self.element(name, to);
        self.xml.end();
    }

    fn value(&mut self, data: &Data) {
        if data.is_plain() {
            return self.form(&data.form);
        }
        self.xml.start("choice", &[]);
        if data.or_empty {
            self.xml.empty("empty", &[]);
        }
        self.form(&data.form);
        for text in &data.besides {
            self.xml.text("value", &[("type", "token")], &text.text);
        }
        self.xml.end();
    }

    fn form(&mut self, form: &Form) {
        match form {
            Form::Type { base, facets } => self.datatype(base, facets),
            Form::Words(words) => {
                self.xml.start("choice", &[]);
                for word in words {
                    self.xml.text("value", &[("type", "token")], &word.text);
                    self.doc(&word.doc);
                }
                self.xml.end();
            }
            Form::List { item, min, max } => self.list(item, *min, *max),
        }
    }

    fn list(&mut self, item: &Form, min: u32, max: Option<u32>) {
        self.xml.start("list", &[]);
        if max.unwrap_or(min) > MOST_COPIES * 4 {
            self.notes
                .add("RELAX NG cannot count that far; how long some lists may be is looser");
            self.xml
                .start(if min == 0 { "zeroOrMore" } else { "oneOrMore" }, &[]);
            self.form(item);
            self.xml.end();
        } else {
            for _ in 0..min {
                self.form(item);
            }
            if max.is_none() {
                self.xml.start("zeroOrMore", &[]);
                self.form(item);
                self.xml.end();
            }
            for _ in min..max.unwrap_or(min) {
                self.xml.start("optional", &[]);
                self.form(item);
                self.xml.end();
            }
        }
        self.xml.end();
    }

    fn datatype(&mut self, base: &str, facets: &[(&'static str, String)]) {
        if facets.is_empty() {
            return match base {
                // Any text, which also tools without datatypes know.
                "string" => self.xml.empty("text", &[]),
                base => self.xml.empty("data", &[("type", base)]),
            };
        }
        self.xml.start("data", &[("type", base)]);
        for (name, value) in facets {
            self.xml.text("param", &[("name", name)], value);
        }
        self.xml.end();
    }
}
