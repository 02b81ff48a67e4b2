//! Declarations of elements with their attributes, text and children.

use std::collections::HashSet;
use std::ops::Range;

use toml::de::DeValue;

use super::Reader;
use super::children;
use super::header::is_name;
use super::section::{Placed, Section, Value, as_number, as_section, as_string};
use super::usual::PlacedValue;
use crate::context::{Context, KeyStep, MOST_WAYS, key_steps, name_of_key, split_key};
use crate::documents::DocumentKind;
use crate::grammar::{AttributeDecl, ElementDecl, Grammar, Kept, Learnt};
use crate::nearest::nearest;
use crate::value_type::{ItemType, ValueType};

/// The name of a declaration that is about an element's text.
pub(super) const TEXT: &str = "text()";

/// Places of the file that checks after the reading need.
#[derive(Debug, Default)]
pub(super) struct ElementPlaces {
    key: Range<usize>,
    children: Vec<Range<usize>>,
}

/// Where a key says that an element stands.
fn place_by_key(grammar: &Grammar, key: &str) -> Context {
    let (document, path) = split_key(key);
    let start = match path.starts_with('/') {
        true => {
            let around = document.map(|kind| grammar.contexts.document(kind));
            around.unwrap_or(Context::DOCUMENT)
        }
        false => Context::ELSEWHERE,
    };
    let steps = key_steps(path).map(KeyStep::parse);
    steps.fold(start, |context, step| {
        let value = |attribute: &str| {
            let sort = step.sort.filter(|(known, _)| *known == attribute);
            sort.map(|(_, value)| value)
        };
        grammar.contexts.sorted_child(context, step.name, value)
    })
}

fn is_key_step(step: &KeyStep<'_>) -> bool {
    // Unlike elements, attributes have their prefix.
    let is_attribute = |name: &str| name.splitn(2, ':').all(is_name);
    let is_sort = |(attribute, value): (&str, &str)| {
        is_attribute(attribute) && !value.contains(['\'', '[', ']'])
    };
    is_name(step.name) && step.sort.is_none_or(is_sort)
}

impl Reader<'_> {
    /// `[element.…]`
    pub(super) fn elements(&mut self, file: &mut Section<'_>) -> Vec<ElementDecl> {
        let mut elements = Vec::new();
        let Some(section) = file.section("element", "`[element]`", &mut self.problems) else {
            if !file.has("element") {
                let what = "what an element may hold, such as `[element.machine]`";
                file.missing_table("[element]", what, &mut self.problems);
            }
            return elements;
        };
        for (key, value) in section.entries() {
            let label = format!("element `{}`", key.value);
            let section = as_section(
                key.value,
                label,
                key.place.clone(),
                value,
                &mut self.problems,
            );
            let (_, path) = split_key(key.value);
            if !key_steps(path)
                .map(KeyStep::parse)
                .all(|step| is_key_step(&step))
            {
                let message = format!(
                    "`{}` is no key for an element; write its name, or the end of its path \
                     such as \"wheels/wheel\" (\"/machine\" is the root only, \"rig:/data\" that of documents `rig`, \
                     \"item[@sort='tag']\" items whose attribute `sort` is `tag`)",
                    key.value
                );
                self.problems.report(key.place.clone(), message);
                continue;
            }
            if let Some(section) = section {
                let element = self.element(elements.len(), key, section);
                elements.push(element);
            }
        }
        elements
    }

    fn element(&mut self, at: usize, key: Placed<&str>, mut section: Section<'_>) -> ElementDecl {
        let doc = section.doc(&mut self.problems);
        let children = children::listed(&mut section, &mut self.problems);
        let places = ElementPlaces {
            key: key.place,
            children: children.places,
        };
        let text = section.take("text");
        let text = text.and_then(|value| {
            let label = format!("the text of element `{}`", key.value);
            let place = section.key_place("text");
            self.declaration(at, Placed { value: TEXT, place }, label, value)
        });
        let mut attributes = Vec::new();
        let label = format!("the attributes of element `{}`", key.value);
        if let Some(section) = section.section("attributes", label, &mut self.problems) {
            for (name, value) in section.entries() {
                let label = format!("attribute `{}` of element `{}`", name.value, key.value);
                if name.value.is_empty()
                    || name
                        .value
                        .contains(|c: char| c.is_whitespace() || "/<>&\"'=@".contains(c))
                {
                    let message = format!("`{}` is no name for an attribute", name.value);
                    self.problems.report(name.place, message);
                    continue;
                }
                attributes.extend(self.declaration(at, name, label, value));
            }
        }
        let open = section.boolean("open", &mut self.problems);
        let strict = section.boolean("strict", &mut self.problems);
        let learnt = self.learnt(&mut section);
        section.finish(&mut self.problems);
        self.element_places.push(places);
        // There may be thousands of elements, each with few of these, which are large.
        attributes.shrink_to_fit();
        ElementDecl {
            key: key.value.to_owned(),
            name: name_of_key(key.value).to_owned(),
            doc,
            children: children.rules.into(),
            choices: children.choices,
            order: children.order,
            attributes,
            text,
            open: open.unwrap_or(false),
            strict: strict.unwrap_or(true),
            learnt,
        }
    }

    /// What an attribute or a text may say: a table, or only the name of a type.
    fn declaration(
        &mut self,
        element: usize,
        name: Placed<&str>,
        label: String,
        value: Value<'_>,
    ) -> Option<AttributeDecl> {
        let short;
        let mut section = match value.get_ref() {
            DeValue::String(_) => {
                let mut table = toml::de::DeTable::new();
                let key = toml::Spanned::new(name.place.clone(), "type".into());
                table.insert(key, value.clone());
                short = table;
                Section::new(label, name.place.clone(), &short)
            }
            _ => as_section(
                name.value,
                label,
                name.place.clone(),
                value,
                &mut self.problems,
            )?,
        };
        let doc = section.doc(&mut self.problems);
        let required = section.boolean("required", &mut self.problems);
        let usual = self.sample(&mut section, "usual");
        let default = self.sample(&mut section, "default");
        let strict = section.boolean("strict", &mut self.problems);
        let learnt = self.learnt(&mut section);
        let value_type = self.value_type(&mut section);
        if value_type.is_none() {
            self.unreadable.push((element, name.value.to_owned()));
        }
        section.finish(&mut self.problems);
        for (key, sample) in [("usual", &usual), ("default", &default)] {
            if let (Some(sample), Some(_)) = (sample, &value_type) {
                self.values.push(PlacedValue {
                    element,
                    name: name.value.to_owned(),
                    key,
                    value: sample.clone(),
                });
            }
        }
        Some(AttributeDecl {
            name: name.value.to_owned(),
            doc,
            required: required.unwrap_or(false),
            value: value_type.unwrap_or(ValueType::single(ItemType::Text)),
            usual: usual.map(|usual| usual.value),
            default: default.map(|default| default.value),
            strict: strict.unwrap_or(true),
            learnt,
        })
    }

    /// A value as documents write it. Numbers and booleans of TOML are put into the
    /// dialect's notation.
    fn sample(&mut self, section: &mut Section<'_>, key: &'static str) -> Option<Placed<String>> {
        let value = section.take(key)?;
        self.sample_value(key, value)
    }

    pub(super) fn sample_value(&mut self, key: &str, value: Value<'_>) -> Option<Placed<String>> {
        let text = match value.get_ref() {
            DeValue::Boolean(answer) => {
                let words = if *answer {
                    &self.notation.yes
                } else {
                    &self.notation.no
                };
                words.first()?.clone()
            }
            DeValue::Integer(_) | DeValue::Float(_) => {
                let number = as_number(key, value, &mut self.problems)?;
                self.notation.numbers.write(number.value)
            }
            _ => as_string(key, value, &mut self.problems)?.value.to_owned(),
        };
        Some(Placed {
            value: text,
            place: value.span(),
        })
    }

    pub(super) fn learnt(&mut self, section: &mut Section<'_>) -> Option<Learnt> {
        let problems = &mut self.problems;
        let label = format!("`learnt` of {}", section.label);
        let mut learnt = section.section("learnt", label, problems)?;
        let mut count = |key| learnt.count(key, problems).map_or(0, |count| count.value);
        let (seen, of, files) = (count("seen"), count("of"), count("files"));
        let foreign = count("foreign");
        let mut texts = |key| -> Vec<String> {
            let texts = learnt.strings(key, problems).into_iter();
            let texts = texts.flat_map(|texts| texts.value);
            texts.map(|text| text.value.to_owned()).collect()
        };
        let (places, exceptions) = (texts("places"), texts("exceptions"));
        let mut record = Learnt {
            seen,
            of,
            files,
            range: None,
            values: Vec::new(),
            places,
            exceptions,
            besides: None,
            foreign,
            kept: None,
        };
        if let Some(besides) = learnt.strings("besides", problems) {
            let besides = besides.value.into_iter();
            record.besides = Some(besides.map(|text| text.value.to_owned()).collect());
        }
        if let Some(mut kept) = learnt.section("kept", "`kept`", problems) {
            let children = children::listed(&mut kept, problems);
            record.kept = Some(Kept {
                children: children.rules,
                choices: children.choices,
                order: children.order,
                text: kept.boolean("text", problems).unwrap_or(false),
            });
            kept.finish(problems);
        }
        if let Some(mut range) = learnt.section("range", "`range`", problems) {
            let least = range.number("min", problems);
            let greatest = range.number("max", problems);
            range.finish(problems);
            if let (Some(least), Some(greatest)) = (least, greatest) {
                record.range = Some((least.value, greatest.value));
            }
        }
        if let Some(values) = learnt.section("values", "`values`", problems) {
            for (value, count) in values.entries() {
                if let Some(count) = super::section::as_count(value.value, count, problems) {
                    record.values.push((value.value.to_owned(), count.value));
                }
            }
        }
        learnt.finish(problems);
        Some(record)
    }

    /// Every element that is named is declared, and every one declared is named.
    pub(super) fn check_children(&mut self, grammar: &Grammar, documents: &[Placed<DocumentKind>]) {
        self.check_documents_of_keys(grammar, documents);
        if let Some(at) = grammar.contexts.beyond() {
            let message = format!(
                "up to the key `{}`, names that ask for no sort stand for more than {MOST_WAYS} paths with sorts; \
                 ask for sorts in longer keys, or declare fewer sorts",
                grammar.elements[at].key
            );
            let place = self.element_places[at].key.clone();
            self.problems.report(place, message);
        }
        let reachable = grammar.reachable(documents.iter().map(|kind| grammar.root(&kind.value)));
        let mut sites: Vec<Context> = reachable.keys().copied().collect();
        sites.sort();
        let mut held = HashSet::new();
        for document in documents {
            let root = &document.value.root;
            let context = grammar.root(&document.value);
            match grammar.contexts.declaration(context) {
                Some(at) => {
                    held.insert(at);
                }
                None => {
                    let advice = self.declare(grammar, root, &mut held);
                    let message = format!("the root element `{root}` is not declared; {advice}");
                    self.problems.report(document.place.clone(), message);
                }
            }
        }
        // Elements that no document reaches are looked at where their key says they stand.
        let known: HashSet<Context> = sites.iter().copied().collect();
        for element in &grammar.elements {
            let context = place_by_key(grammar, &element.key);
            if !known.contains(&context) {
                sites.push(context);
            }
        }
        for context in sites {
            let Some(at) = grammar.contexts.declaration(context) else {
                continue;
            };
            let element = &grammar.elements[at];
            for (child, rule) in element.children.iter().enumerate() {
                let contexts = grammar.contexts.children(context, &rule.name);
                let declared = contexts.filter_map(|child| grammar.contexts.declaration(child));
                // An element that only holds itself is in no document.
                held.extend(declared.filter(|child| *child != at));
                let plain = grammar.contexts.child(context, &rule.name);
                if grammar.contexts.declaration(plain).is_some() {
                    continue;
                }
                let advice = self.declare(grammar, &rule.name, &mut held);
                let message = format!(
                    "element `{}` holds `{}`, which is not declared; {advice}",
                    element.key, rule.name
                );
                let place = self.element_places[at].children[child].clone();
                self.problems.report(place, message);
            }
        }
        if !grammar.elements.iter().any(|element| element.open) {
            self.check_held(grammar, &held);
        }
    }

    /// Every declared element is in `held`: those that are roots, or that another one may hold.
    fn check_held(&mut self, grammar: &Grammar, held: &HashSet<usize>) {
        let elements = grammar.elements.iter().enumerate();
        for (at, element) in elements.filter(|(at, _)| !held.contains(at)) {
            let message = format!(
                "nothing holds the element `{}`: it is neither the root of a document nor among \
                 the `children` of an element; add it there or remove it",
                element.key
            );
            self.problems
                .report(self.element_places[at].key.clone(), message);
        }
    }

    /// Keys that are about one kind of document name one that there is.
    fn check_documents_of_keys(&mut self, grammar: &Grammar, documents: &[Placed<DocumentKind>]) {
        for (element, places) in grammar.elements.iter().zip(&self.element_places) {
            let (Some(kind), _) = split_key(&element.key) else {
                continue;
            };
            let names = || documents.iter().map(|known| known.value.name.as_str());
            if names().any(|name| name == kind) {
                continue;
            }
            let advice = match nearest(kind, names()) {
                Some(meant) => format!("did you mean `{meant}`?"),
                None => "what stands before `:/` is the name of a document".to_owned(),
            };
            let message = format!(
                "the key `{}` is about documents `{kind}`, which there are not; {advice}",
                element.key
            );
            self.problems.report(places.key.clone(), message);
        }
    }

    /// What to do about a name that no element is declared under. The element that was
    /// probably meant counts as held.
    fn declare(&self, grammar: &Grammar, name: &str, held: &mut HashSet<usize>) -> String {
        let names = grammar.elements.iter().map(|element| element.name.as_str());
        let meant = match self.problems.are_many() {
            true => None,
            false => nearest(name, names),
        };
        match meant {
            Some(meant) => {
                let elements = grammar.elements.iter().enumerate();
                held.extend(
                    elements
                        .filter(|(_, known)| known.name == meant)
                        .map(|(at, _)| at),
                );
                format!("did you mean `{meant}`?")
            }
            None => format!("add `[element.{name}]`"),
        }
    }
}
