//! XML Schema 1.0: one named type for each kind of element, the roots as global elements, all others local.

use dialect::{AttributeDecl, Dialect, Word};

use super::grammar::{ElementType, Grammar};
use super::identity::{self, Constraint};
use super::models::{self, Model};
use super::orders::{Particle, What};
use super::values::{Data, Form};
use super::xml::Xml;
use super::{heading, place, simple_type};
use crate::note::Notes;

const XS: &str = "http://www.w3.org/2001/XMLSchema";
/// The prefix of the schema's own namespace in paths, where the default namespace does not count.
const OWN: &str = "own";
/// The datatype that says it all, if one does.
fn plain(data: &Data) -> Option<String> {
    match &data.form {
        Form::Type { base, facets } if facets.is_empty() && data.is_plain() => {
            Some(format!("xs:{base}"))
        }
        _ => None,
    }
}

pub(super) fn write(dialect: &Dialect, grammar: &Grammar<'_>, notes: &mut Notes) -> String {
    let models = models::models(grammar, notes);
    let mut writer = Writer {
        xml: Xml::new(),
        dialect,
        grammar,
        models: &models,
        notes,
        texts: Vec::new(),
        constraints: 0,
    };
    writer.schema();
    writer.xml.finish()
}

struct Writer<'w, 'd> {
    xml: Xml,
    dialect: &'d Dialect,
    grammar: &'w Grammar<'d>,
    /// By type.
    models: &'w [Model],
    notes: &'w mut Notes,
    /// How many constraints of children have been written: each has a name of its own.
    constraints: usize,
    /// Types of texts, to be written behind the others.
    texts: Vec<(String, Data, String)>,
}

impl Writer<'_, '_> {
    fn schema(&mut self) {
        let namespace = self.grammar.namespace;
        let own = format!("xmlns:{OWN}");
        let mut attributes = vec![("xmlns:xs", XS)];
        if !namespace.is_empty() {
            attributes.extend([
                ("xmlns", namespace),
                (own.as_str(), namespace),
                ("targetNamespace", namespace),
                ("elementFormDefault", "qualified"),
            ]);
        }
        self.xml.start("xs:schema", &attributes);
        self.doc(&heading(self.dialect));
        let grammar = self.grammar;
        for root in &grammar.roots {
            let constraints = identity::constraints(self.dialect, grammar, root.to, self.notes);
            let attributes = [
                ("name", root.kind.root.as_str()),
                ("type", grammar.types[root.to].name.as_str()),
            ];
            let is_plain = constraints.is_empty() && self.models[root.to].single.is_empty();
            if is_plain && root.kind.doc.is_empty() {
                self.xml.empty("xs:element", &attributes);
                continue;
            }
            self.xml.start("xs:element", &attributes);
            self.doc(&root.kind.doc);
            for constraint in &constraints {
                self.constraint(constraint, &root.kind.root);
            }
            self.single_children(root.to);
            self.xml.end();
        }
        for (at, one) in grammar.types.iter().enumerate() {
            self.element_type(at, one);
        }
        for (name, data, doc) in std::mem::take(&mut self.texts) {
            self.simple_type(&data, &[("name", &name)], &doc);
        }
        self.xml.end();
        self.notes.add(
            "elements of other namespaces, which are left alone, are not allowed where children have a fixed order or stand once, unless some were learnt there",
        );
    }

    fn doc(&mut self, text: &str) {
        if !text.is_empty() {
            self.xml.start("xs:annotation", &[]);
            self.xml.text("xs:documentation", &[], text);
            self.xml.end();
        }
    }

    /// The names of constraints are unique in a schema, so that they begin with the root's.
    fn constraint(&mut self, constraint: &Constraint, root: &str) {
        let name = format!("{root}.{}", constraint.name);
        let refers = constraint
            .refers
            .as_ref()
            .map(|refers| format!("{root}.{refers}"));
        match &refers {
            Some(refers) => self
                .xml
                .start("xs:keyref", &[("name", &name), ("refer", refers)]),
            None => self.xml.start("xs:unique", &[("name", &name)]),
        }
        let prefix = self.own_prefix();
        let paths = constraint.selector.iter().map(|path| {
            let steps = path.steps.iter().map(|step| format!("{prefix}{step}"));
            match steps.collect::<Vec<_>>().join("/") {
                steps if steps.is_empty() => ".".to_owned(),
                steps if path.descends => format!(".//{steps}"),
                steps => steps,
            }
        });
        self.xml.empty(
            "xs:selector",
            &[("xpath", &paths.collect::<Vec<_>>().join("|"))],
        );
        self.xml
            .empty("xs:field", &[("xpath", &constraint.fields.join("|"))]);
        self.xml.end();
    }

    /// What stands before the names of the schema's elements in paths.
    fn own_prefix(&self) -> String {
        match self.grammar.namespace {
            "" => String::new(),
            _ => format!("{OWN}:"),
        }
    }

    /// In the declaration of an element: which of its children may stand once although its model does not say so.
    fn single_children(&mut self, of: usize) {
        let prefix = self.own_prefix();
        let models = self.models;
        for fields in &models[of].single {
            self.constraints += 1;
            let child = fields.first().and_then(|field| field.steps.first());
            let name = format!(
                "{}..{}-{}",
                self.grammar.types[of].name,
                child.map_or("", String::as_str),
                self.constraints
            );
            let paths = fields.iter().map(|field| {
                let steps = field.steps.iter().map(|step| format!("{prefix}{step}"));
                let value = field.attribute.iter().map(|name| format!("@{name}"));
                steps.chain(value).collect::<Vec<_>>().join("/")
            });
            let paths = paths.collect::<Vec<_>>().join("|");
            self.xml.start("xs:unique", &[("name", &name)]);
            self.xml.empty("xs:selector", &[("xpath", ".")]);
            self.xml.empty("xs:field", &[("xpath", &paths)]);
            self.xml.end();
        }
    }

    fn element_type(&mut self, at: usize, one: &ElementType<'_>) {
        let declared = &*one.declared;
        let has_children = one.holds_elements();
        let data = declared.text.as_ref().filter(|_| !has_children);
        let data = data.map(|text| {
            (
                text,
                simple_type(self.dialect, one, text, Some(text.required), self.notes),
            )
        });
        // In an open element nothing is certain about text either.
        let is_mixed = has_children && (declared.text.is_some() || declared.open);
        let mut attributes = vec![("name", one.name.as_str())];
        if is_mixed {
            attributes.push(("mixed", "true"));
        }
        self.xml.start("xs:complexType", &attributes);
        self.doc(&declared.doc);
        match data {
            Some((text, data)) => self.simple_content(one, text, data),
            None => {
                if let Some(text) = declared
                    .text
                    .as_ref()
                    .filter(|text| text.required || text.value.item != dialect::ItemType::Text)
                {
                    self.notes.add_about(
                        place(one, &text.name),
                        "text beside elements is not checked",
                    );
                }
                self.content(at, one);
                self.attributes(one);
            }
        }
        self.xml.end();
    }

    /// Text and attributes. What the text may say takes a type of its own, since an extension has no facets.
    fn simple_content(&mut self, one: &ElementType<'_>, text: &AttributeDecl, data: Data) {
        let base = match plain(&data) {
            Some(base) => base,
            None => {
                let mut name = format!("{}.text", one.name);
                while self.grammar.types.iter().any(|other| other.name == name) {
                    name.push('-');
                }
                self.texts.push((name.clone(), data, text.doc.clone()));
                name
            }
        };
        self.xml.start("xs:simpleContent", &[]);
        self.xml.start("xs:extension", &[("base", &base)]);
        self.attributes(one);
        self.xml.end();
        self.xml.end();
    }

    fn content(&mut self, at: usize, one: &ElementType<'_>) {
        if one.declared.open {
            if !one.children.is_empty() {
                self.notes.add_about(
                    one.name.as_str(),
                    "what an open element holds is not checked",
                );
            }
            self.xml.start("xs:sequence", &[]);
            self.any_number("##any", "skip");
            self.xml.end();
            return;
        }
        if one.children.is_empty() {
            // What is empty could not even hold blanks; elements of other namespaces are left alone anyhow.
            self.xml.start("xs:sequence", &[]);
            self.any_number("##other", "lax");
            self.xml.end();
            return;
        }
        let models = self.models;
        if let Some(particle) = &models[at].particle {
            self.particle(one, particle);
        }
    }

    /// Any number of elements that are not declared.
    fn any_number(&mut self, namespace: &str, checked: &str) {
        let attributes = [
            ("namespace", namespace),
            ("processContents", checked),
            ("minOccurs", "0"),
            ("maxOccurs", "unbounded"),
        ];
        self.xml.empty("xs:any", &attributes);
    }

    /// No deeper than `orders` spells out.
    fn particle(&mut self, one: &ElementType<'_>, particle: &Particle) {
        let (min, max) = (
            particle.min.to_string(),
            particle
                .max
                .map_or("unbounded".to_owned(), |max| max.to_string()),
        );
        let mut attributes = Vec::new();
        if let What::Element(at) = particle.what {
            let Some((rule, to)) = one.children.get(at) else {
                return;
            };
            attributes.push(("name", rule.name.as_str()));
            attributes.push(("type", self.grammar.types[*to].name.as_str()));
        }
        if particle.min != 1 {
            attributes.push(("minOccurs", min.as_str()));
        }
        if particle.max != Some(1) {
            attributes.push(("maxOccurs", max.as_str()));
        }
        let (name, parts) = match &particle.what {
            What::Foreign => {
                attributes.splice(0..0, [("namespace", "##other"), ("processContents", "lax")]);
                return self.xml.empty("xs:any", &attributes);
            }
            What::Element(at) => {
                let to = one.children.get(*at).map(|(_, to)| *to);
                let Some(to) = to.filter(|to| !self.models[*to].single.is_empty()) else {
                    return self.xml.empty("xs:element", &attributes);
                };
                self.xml.start("xs:element", &attributes);
                self.single_children(to);
                return self.xml.end();
            }
            What::Sequence(parts) => ("xs:sequence", parts),
            What::Choice(parts) => ("xs:choice", parts),
            What::All(parts) => ("xs:all", parts),
        };
        self.xml.start(name, &attributes);
        for part in parts {
            self.particle(one, part);
        }
        self.xml.end();
    }

    fn attributes(&mut self, one: &ElementType<'_>) {
        for attribute in &one.declared.attributes {
            if attribute.name.contains(':') {
                self.notes.add_about(
                    place(one, &attribute.name),
                    "attributes with a prefix are allowed, but not checked",
                );
                continue;
            }
            let data = simple_type(self.dialect, one, attribute, None, self.notes);
            let mut attributes = vec![("name", attribute.name.as_str())];
            let plain = plain(&data);
            if let Some(plain) = &plain {
                attributes.push(("type", plain.as_str()));
            }
            if attribute.required {
                attributes.push(("use", "required"));
            } else if let Some(default) = &attribute.default {
                attributes.push(("default", default.as_str()));
            }
            if plain.is_some() && attribute.doc.is_empty() {
                self.xml.empty("xs:attribute", &attributes);
                continue;
            }
            self.xml.start("xs:attribute", &attributes);
            self.doc(&attribute.doc);
            if plain.is_none() {
                self.simple_type(&data, &[], "");
            }
            self.xml.end();
        }
        // Attributes with the prefix of another namespace are left alone; an open element welcomes all.
        let namespace = if one.declared.open {
            "##any"
        } else {
            "##other"
        };
        self.xml.empty(
            "xs:anyAttribute",
            &[
                ("namespace", namespace),
                (
                    "processContents",
                    if one.declared.open { "skip" } else { "lax" },
                ),
            ],
        );
    }

    fn simple_type(&mut self, data: &Data, attributes: &[(&str, &str)], doc: &str) {
        if data.is_plain() {
            return self.form(&data.form, attributes, doc);
        }
        self.xml.start("xs:simpleType", attributes);
        self.doc(doc);
        self.xml.start("xs:union", &[]);
        self.form(&data.form, &[], "");
        if !data.besides.is_empty() {
            self.form(&Form::Words(data.besides.clone()), &[], "");
        }
        if data.or_empty {
            self.xml.start("xs:simpleType", &[]);
            self.xml.start("xs:restriction", &[("base", "xs:token")]);
            self.xml.empty("xs:length", &[("value", "0")]);
            self.xml.end();
            self.xml.end();
        }
        self.xml.end();
        self.xml.end();
    }

    fn form(&mut self, form: &Form, attributes: &[(&str, &str)], doc: &str) {
        self.xml.start("xs:simpleType", attributes);
        self.doc(doc);
        match form {
            Form::Type { base, facets } => self.restriction(&format!("xs:{base}"), facets),
            Form::Words(words) => self.words(words),
            Form::List { item, min, max } => {
                let mut facets = Vec::new();
                if *min > 0 && Some(*min) == *max {
                    facets.push(("length", min.to_string()));
                } else {
                    facets.extend((*min > 0).then(|| ("minLength", min.to_string())));
                    facets.extend(max.map(|max| ("maxLength", max.to_string())));
                }
                if !facets.is_empty() {
                    self.xml.start("xs:restriction", &[]);
                    self.xml.start("xs:simpleType", &[]);
                }
                self.xml.start("xs:list", &[]);
                self.form(item, &[], "");
                self.xml.end();
                if !facets.is_empty() {
                    self.xml.end();
                    self.facets(&facets);
                    self.xml.end();
                }
            }
        }
        self.xml.end();
    }

    fn restriction(&mut self, base: &str, facets: &[(&'static str, String)]) {
        if facets.is_empty() {
            self.xml.empty("xs:restriction", &[("base", base)]);
            return;
        }
        self.xml.start("xs:restriction", &[("base", base)]);
        self.facets(facets);
        self.xml.end();
    }

    fn facets(&mut self, facets: &[(&'static str, String)]) {
        for (name, value) in facets {
            let name = match *name {
                "pattern" => "xs:pattern",
                "minInclusive" => "xs:minInclusive",
                "maxInclusive" => "xs:maxInclusive",
                "minExclusive" => "xs:minExclusive",
                "maxExclusive" => "xs:maxExclusive",
                "length" => "xs:length",
                "minLength" => "xs:minLength",
                _ => "xs:maxLength",
            };
            self.xml.empty(name, &[("value", value)]);
        }
    }

    fn words(&mut self, words: &[Word]) {
        // A token's white space is collapsed, which would change words with more of it.
        let is_token =
            |word: &Word| word.text.split_whitespace().collect::<Vec<_>>().join(" ") == word.text;
        let base = if words.iter().all(is_token) {
            "xs:token"
        } else {
            "xs:string"
        };
        self.xml.start("xs:restriction", &[("base", base)]);
        for word in words {
            let attributes = [("value", word.text.as_str())];
            if word.doc.is_empty() {
                self.xml.empty("xs:enumeration", &attributes);
            } else {
                self.xml.start("xs:enumeration", &attributes);
                self.doc(&word.doc);
                self.xml.end();
            }
        }
        self.xml.end();
    }
}
