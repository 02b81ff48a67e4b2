//! What is written down about an element: its declaration in the dialect, and what did not fit into it.

use std::collections::BTreeSet;
use std::rc::Rc;

use dialect::{AttributeDecl, ChildRule, ChildRules, Dialect, ElementDecl, ItemType, Kind, Order};

use super::Importer;
use super::components::{Site, Sort};
use super::constraints::{Constraint, Leaf, Role};
use super::content::{Child, Content};
use super::simple_types::Simple;
use super::types::{Complex, TypeRef};
use super::walk::State;

/// A declaration without its key, and what is not kept.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Facts {
    pub(super) element: ElementDecl,
    pub(super) lost: Vec<Lost>,
}

/// Something that is not kept.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Lost {
    /// The attribute, `text()`, or empty: the element itself.
    pub(super) about: String,
    /// A sentence without full stop; details stand behind a colon.
    pub(super) text: String,
}

impl Lost {
    /// The sentence without its details.
    pub(super) fn summary(&self) -> &str {
        self.text.split(": ").next().unwrap_or(&self.text)
    }
}

const TEXT: &str = "text()";
const MODEL: &str = "a choice or a repeated group; counts and order are looser than in the schema";
const FOREIGN: &str = "elements of another namespace than the root's are left alone";

impl<'a> Importer<'a> {
    /// The type of an element; of one without, that of the head of its substitution group.
    fn element_type(&mut self, site: Site<'a>) -> TypeRef<'a> {
        let mut at = site;
        let mut steps = 0;
        loop {
            if let Some(name) = at.attribute("type") {
                return self.type_named(at, name);
            }
            if let Some(inline) = at.child(&["complexType", "simpleType"]) {
                return match inline.is("simpleType") {
                    true => TypeRef::Simple(inline),
                    false => TypeRef::Complex(inline),
                };
            }
            let head = at.attribute("substitutionGroup");
            let head = head.and_then(|name| self.components.find(Sort::Element, at, name));
            steps += 1;
            match head {
                Some(head) if steps < 100 => at = head,
                _ => return TypeRef::Any,
            }
        }
    }

    fn element_as_complex(&mut self, site: Site<'a>) -> Rc<Complex<'a>> {
        let text = match self.element_type(site) {
            TypeRef::Complex(complex) => return self.instances(complex),
            TypeRef::Any => return Rc::new(Complex::anything()),
            TypeRef::Simple(simple) => self.simple_type(simple),
            TypeRef::BuiltIn(_) => {
                let name = site.attribute("type").unwrap_or_default();
                self.simple_type_named(site, name)
            }
        };
        Rc::new(Complex {
            text: Some(text),
            ..Complex::empty()
        })
    }

    /// The children of an element that are in its own namespace.
    pub(super) fn children(&mut self, declaration: usize) -> Vec<Child<'a>> {
        let Some(declared) = self.declarations.get(declaration).copied() else {
            return Vec::new();
        };
        let complex = self.element_as_complex(declared.site);
        let mut children = complex.content.clone().settled().children;
        children.retain(|child| {
            child.name.namespace == declared.name.namespace && child.max != Some(0)
        });
        children
    }

    /// What to write down about an element in this state.
    pub(super) fn facts(&mut self, state: &State<'a>, constraints: &[Constraint<'a>]) -> Facts {
        let Some(declared) = self.declarations.get(state.declaration).copied() else {
            return Facts::empty();
        };
        let site = declared.site;
        let complex = self.element_as_complex(site);
        let content = complex.content.clone().settled();
        let may_be_nil = matches!(site.attribute("nillable"), Some("true" | "1"));
        let mut facts = Facts::empty();
        for lost in &complex.lost {
            facts.lose("", lost);
        }
        if !content.exact {
            facts.lose("", MODEL);
        }
        let is_foreign = |child: &Child<'_>| child.name.namespace != declared.name.namespace;
        if content.children.iter().any(is_foreign) {
            facts.lose("", FOREIGN);
        }
        let children = self.children(state.declaration);
        facts.set_children(children, &content, may_be_nil);
        facts.element.open = content.open || complex.open;
        // The documentation of a root is about its documents, if that of its type is about the element.
        let mut docs = [site.doc(), complex.doc.clone()];
        if state.is_root {
            docs.reverse();
        }
        let doc = docs.into_iter().find(|doc| !doc.is_empty());
        facts.element.doc = doc.unwrap_or_default();
        let may_be_empty = may_be_nil || !content.children.is_empty() || content.open;
        facts.set_values(site, &complex, may_be_empty);
        for (at, taken) in &state.marks {
            if let Some(constraint) = constraints.get(*at)
                && *taken == constraint.steps.len()
            {
                self.constrain(&mut facts, constraint);
            }
        }
        facts
    }

    /// Makes a value a name or a reference.
    fn constrain(&mut self, facts: &mut Facts, constraint: &Constraint<'a>) {
        let (name, declared) = match constraint.leaf {
            Leaf::Attribute(name) => {
                let attributes = &mut facts.element.attributes;
                (
                    name,
                    attributes
                        .iter_mut()
                        .find(|attribute| attribute.name == name),
                )
            }
            Leaf::Text => (TEXT, facts.element.text.as_mut()),
        };
        let Some(declared) = declared else {
            return;
        };
        let is_list = declared.value.list.is_some();
        if let Role::Name { is_required, .. } = constraint.role {
            declared.required |= is_required;
        }
        match (&constraint.role, &declared.value.item) {
            (Role::Name { kind, .. }, ItemType::NameOf(known)) => {
                // Names that are unique among all are unique among their kind.
                self.other_kinds.push((*kind, *known));
            }
            (Role::Name { kind, is_used, .. }, item)
                if !is_list && (*is_used || *item == ItemType::Text) =>
            {
                declared.value.item = ItemType::NameOf(*kind);
                declared.default = None;
            }
            (Role::Name { .. }, _) => facts.lose(name, "that it is unique is not checked"),
            (Role::Reference(kind), ItemType::Reference(kinds)) if !kinds.contains(kind) => {
                facts.lose(
                    name,
                    "it refers to names of several kinds at once, which is loosened to one",
                );
            }
            (
                Role::Reference(kind),
                ItemType::Text
                | ItemType::Integer { .. }
                | ItemType::Number { .. }
                | ItemType::Word(_),
            ) if !is_list => {
                declared.value.item = ItemType::Reference([*kind].into());
                declared.default = declared
                    .default
                    .take()
                    .filter(|default| !default.is_empty());
            }
            (Role::Reference(_), ItemType::Reference(_)) => {}
            (Role::Reference(_), _) => facts.lose(name, "that it refers to a key is not checked"),
        }
    }
}

impl Facts {
    /// `children`: those of the content that are in the element's namespace. None need be there if the element `may_be_nil`.
    fn set_children(&mut self, children: Vec<Child<'_>>, content: &Content<'_>, may_be_nil: bool) {
        let least = |min: u32| if may_be_nil { 0 } else { min };
        let children = children.into_iter().map(|child| ChildRule {
            name: child.name.local.to_owned(),
            min: least(child.min),
            max: child.max,
        });
        self.element.children = children.collect();
        for choice in &content.choices {
            let members = content.children[choice.members.clone()].iter();
            let names: Vec<&str> = members.map(|child| child.name.local).collect();
            self.element.choose(&names, least(choice.min), choice.max);
        }
        if content.ordered && self.element.children.len() > 1 {
            self.element.order = Order::Listed;
        }
    }

    /// The text, which `may_be_empty` whatever its type, and the attributes.
    fn set_values(&mut self, site: Site<'_>, complex: &Complex<'_>, may_be_empty: bool) {
        if let Some(text) = &complex.text {
            let fixed = site.node.attribute("fixed");
            let default = site.node.attribute("default").or(fixed);
            let text = match fixed {
                Some(fixed) => text.clone().fixed(fixed),
                None => text.clone(),
            };
            let may_be_empty = may_be_empty || text.may_be_empty || default.is_some();
            let declared = self.value(TEXT, &text, !may_be_empty, default, String::new());
            self.element.text = Some(declared);
        }
        for attribute in &complex.attributes {
            let declared = self.value(
                attribute.name,
                &attribute.simple,
                attribute.required,
                attribute.default,
                attribute.doc.clone(),
            );
            self.element.attributes.push(declared);
        }
    }

    fn empty() -> Self {
        Self {
            element: ElementDecl {
                key: String::new(),
                name: String::new(),
                doc: String::new(),
                children: ChildRules::default(),
                choices: Vec::new(),
                order: Order::Any,
                attributes: Vec::new(),
                text: None,
                open: false,
                strict: true,
                learnt: None,
            },
            lost: Vec::new(),
        }
    }

    fn lose(&mut self, about: &str, text: &str) {
        let lost = Lost {
            about: about.to_owned(),
            text: text.to_owned(),
        };
        if !self.lost.contains(&lost) {
            self.lost.push(lost);
        }
    }

    fn value(
        &mut self,
        name: &str,
        simple: &Simple,
        required: bool,
        default: Option<&str>,
        doc: String,
    ) -> AttributeDecl {
        for lost in &simple.lost {
            self.lose(name, lost);
        }
        let default = default.map(str::trim).filter(|default| {
            let fits = Dialect::default()
                .check_value(&simple.value, default, None)
                .is_empty();
            fits && !default.contains(char::is_control)
        });
        AttributeDecl {
            name: name.to_owned(),
            doc,
            required,
            value: simple.value.clone(),
            usual: None,
            default: default.map(str::to_owned),
            strict: true,
            learnt: None,
        }
    }

    /// What allows all that both allow.
    pub(super) fn loosened(mut self, other: &Facts) -> Facts {
        self.lose("", "it stands in too many places with different content to be told apart; what any allows is allowed");
        let same_rule =
            |rules: &[ChildRule], name: &str| rules.iter().find(|rule| rule.name == name).cloned();
        for rule in &mut *self.element.children {
            match same_rule(&other.element.children, &rule.name) {
                Some(same) => {
                    rule.min = rule.min.min(same.min);
                    rule.max = rule.max.zip(same.max).map(|(a, b)| a.max(b));
                }
                None => rule.min = 0,
            }
        }
        for rule in &other.element.children {
            if same_rule(&self.element.children, &rule.name).is_none() {
                self.element.children.push(ChildRule {
                    min: 0,
                    ..rule.clone()
                });
            }
        }
        self.element.choices.clear();
        self.element.order = Order::Any;
        self.element.open |= other.element.open;
        for attribute in &mut self.element.attributes {
            match other.element.attribute(&attribute.name) {
                Some(same) => loosen(attribute, same),
                None => attribute.required = false,
            }
        }
        for attribute in &other.element.attributes {
            if self.element.attribute(&attribute.name).is_none() {
                self.element.attributes.push(AttributeDecl {
                    required: false,
                    ..attribute.clone()
                });
            }
        }
        match (&mut self.element.text, &other.element.text) {
            (Some(text), Some(same)) => loosen(text, same),
            (Some(text), None) => text.required = false,
            (None, text) => {
                self.element.text = text.clone().map(|text| AttributeDecl {
                    required: false,
                    ..text
                });
            }
        }
        self
    }

    /// All values, the text too.
    pub(super) fn values_mut(&mut self) -> impl Iterator<Item = &mut AttributeDecl> {
        self.element
            .attributes
            .iter_mut()
            .chain(&mut self.element.text)
    }

    /// Where references go to kinds that have no names, they are any text; where a kind's names are also those of
    /// another kind, they go there. `named`: the kinds that have names.
    pub(super) fn settle_references(&mut self, named: &[Kind], others: &[(Kind, Kind)]) {
        let mut dangling = Vec::new();
        for value in self.values_mut() {
            let ItemType::Reference(kinds) = &mut value.value.item else {
                continue;
            };
            let also = others.iter().filter(|(kind, _)| kinds.contains(kind));
            let also = also.map(|(_, other)| other);
            let all: BTreeSet<&Kind> = kinds.iter().chain(also).collect();
            let named = all.into_iter().filter(|kind| named.contains(kind));
            *kinds = named.cloned().collect::<Vec<_>>().into();
            if kinds.is_empty() {
                value.value.item = ItemType::Text;
                dangling.push(value.name.clone());
            }
        }
        for name in dangling {
            self.lose(
                &name,
                "nothing has the names that it refers to, so that it may be any text",
            );
        }
    }
}

fn loosen(value: &mut AttributeDecl, other: &AttributeDecl) {
    value.required &= other.required;
    if value.value != other.value {
        value.value = Simple::text().value;
    }
    if value.default != other.default {
        value.default = None;
    }
    if value.doc.is_empty() {
        value.doc = other.doc.clone();
    }
}
