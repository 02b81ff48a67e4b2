//! The node that a selector finds in a document.

use syntax::escape::{character_data, resolved};
use syntax::namespaces::Scope;
use syntax::{Attribute, Element, Item, Source as _, TextRange, TextSize, Token, Tree};

use crate::listing::{Listed, Listings};
use crate::operation::Operation;
use crate::problem::{Code, Problem};
use crate::selector::{Condition, Name, Step, Test};

/// A node in the sense of XPath, and the element that it is in (None: the document).
#[derive(Debug, Clone, Copy)]
pub(crate) struct Found<'t> {
    pub(crate) parent: Option<Element<'t>>,
    pub(crate) node: Node<'t>,
}

#[derive(Debug, Clone, Copy)]
pub(crate) enum Node<'t> {
    Element(Element<'t>),
    Attribute(Attribute<'t>),
    /// The declaration of a prefix.
    Namespace(Attribute<'t>),
    /// Character data, CDATA sections and references in a row.
    Text(TextRange),
    Comment(Token<'t>),
    Instruction(Token<'t>),
}

impl Node<'_> {
    pub(crate) fn range(&self) -> TextRange {
        match self {
            Node::Element(element) => element.range(),
            Node::Attribute(attribute) | Node::Namespace(attribute) => attribute.range(),
            Node::Text(range) => *range,
            Node::Comment(token) | Node::Instruction(token) => token.range(),
        }
    }
}

/// The document (None) or an element, with the namespaces in force in it.
#[derive(Debug, Clone)]
struct Context<'t> {
    element: Option<Element<'t>>,
    scope: Scope<'t>,
}

impl<'t> Context<'t> {
    fn items(&self, tree: &'t Tree) -> syntax::Items<'t> {
        self.element
            .map_or_else(|| tree.top_level(), |element| element.items())
    }

    fn inside(&self, element: Element<'t>) -> Self {
        Self {
            element: Some(element),
            scope: self.scope.enter(&element),
        }
    }
}

/// # Errors
/// No node, or more than one.
pub(crate) fn select<'t>(
    operation: &Operation<'_>,
    tree: &'t Tree,
    listings: &mut Listings,
) -> Result<Found<'t>, Problem> {
    let document = Context {
        element: None,
        scope: Scope::root(),
    };
    let mut contexts = vec![document];
    let steps = &operation.selector.steps;
    for (at, step) in steps.iter().enumerate() {
        if step.anywhere {
            contexts = contexts
                .iter()
                .flat_map(|context| with_all_below(tree, context))
                .collect();
        }
        let mut found: Vec<(Found<'t>, Context<'t>)> = Vec::new();
        for context in &contexts {
            found.extend(stepped(tree, listings, context, step));
        }
        // `//` leads to a node on more than one way.
        found.sort_by_key(|(found, _)| (found.node.range().start(), found.node.range().end()));
        found.dedup_by_key(|(found, _)| found.node.range());
        if at + 1 == steps.len() {
            return match found.as_slice() {
                [(one, _)] => Ok(*one),
                [] => Err(nothing(operation, step, tree)),
                many => Err(too_many(operation, many, tree)),
            };
        }
        contexts = found.into_iter().map(|(_, context)| context).collect();
    }
    Err(unlocated(operation, "The path is empty"))
}

fn nothing(operation: &Operation<'_>, step: &Step, tree: &Tree) -> Problem {
    if matches!(step.test, Test::Id(_)) && tree.text().contains("<!DOCTYPE") {
        return Problem {
            code: Code::UnsupportedIdFunction,
            range: operation.selector_range,
            message: "IDs are known by `xml:id` only, not by what a DOCTYPE declares. Select by `[@attribute='…']`".to_owned(),
        };
    }
    unlocated(
        operation,
        "There is no such node in the document. The document differs from the one that the patch was made for; correct the path, or take the operation out",
    )
}

fn too_many(operation: &Operation<'_>, many: &[(Found<'_>, Context<'_>)], tree: &Tree) -> Problem {
    let text = tree.text();
    let line = |found: &Found<'_>| {
        let before = &text[..usize::from(found.node.range().start())];
        (before.matches('\n').count() + 1).to_string()
    };
    let lines: Vec<String> = many.iter().take(5).map(|(found, _)| line(found)).collect();
    unlocated(
        operation,
        format!(
            "The path leads to {} nodes (lines {}{}), and must lead to one. Add a condition, such as `[@attribute='…']` or `[2]`",
            many.len(),
            lines.join(", "),
            if many.len() > 5 { ", …" } else { "" }
        ),
    )
}

fn unlocated(operation: &Operation<'_>, message: impl Into<String>) -> Problem {
    Problem {
        code: Code::UnlocatedNode,
        range: operation.selector_range,
        message: message.into(),
    }
}

/// A context and all elements below it.
fn with_all_below<'t>(tree: &'t Tree, context: &Context<'t>) -> Vec<Context<'t>> {
    let mut all = Vec::new();
    let mut open = vec![context.clone()];
    while let Some(context) = open.pop() {
        let inner = context.items(tree).filter_map(Item::into_element);
        open.extend(inner.map(|element| context.inside(element)));
        all.push(context);
    }
    all
}

fn stepped<'t>(
    tree: &'t Tree,
    listings: &mut Listings,
    context: &Context<'t>,
    step: &Step,
) -> Vec<(Found<'t>, Context<'t>)> {
    let mut conditions = step.conditions.as_slice();
    let mut nodes: Vec<(Found<'t>, Context<'t>)> = match &step.test {
        Test::Id(id) => with_all_below(tree, context)
            .into_iter()
            .filter_map(|context| {
                let element = context.element?;
                let own = element.attribute("xml:id")?;
                let found = Found {
                    parent: None,
                    node: Node::Element(element),
                };
                (own.value().trim() == id).then_some((found, context))
            })
            .collect(),
        test => {
            let nodes = match listed(tree, listings, context, step) {
                Some((nodes, rest)) => {
                    conditions = rest;
                    nodes
                }
                None => tested(tree, context, test, stop(step)),
            };
            let nodes = nodes.into_iter().map(|node| {
                let inner = match node {
                    Node::Element(element) => context.inside(element),
                    _ => context.clone(),
                };
                let parent = context.element;
                (Found { parent, node }, inner)
            });
            nodes.collect()
        }
    };
    for condition in conditions {
        nodes = match condition {
            Condition::Position(position) => nodes.into_iter().skip(position - 1).take(1).collect(),
            other => {
                nodes.retain(|(found, context)| holds(tree, found, context, other));
                nodes
            }
        };
    }
    nodes
}

/// The nodes of a step that come into question, with the conditions that are left to be tried; None: nothing is listed for
/// it. To look at each of thousands for each of thousands of operations takes minutes.
fn listed<'t, 's>(
    tree: &'t Tree,
    listings: &mut Listings,
    context: &Context<'t>,
    step: &'s Step,
) -> Option<(Vec<Node<'t>>, &'s [Condition])> {
    let name = match &step.test {
        Test::Element(name) => Some(name),
        Test::AnyElement => None,
        _ => return None,
    };
    // There may be as many long elements as places to start from.
    let parent = context.element.filter(|_| !step.anywhere)?;
    let is_called = |written: &str| {
        let (prefix, local) = match written.split_once(':') {
            Some((prefix, local)) => (Some(prefix), local),
            None => (None, written),
        };
        name.is_none_or(|name| {
            let is_in_namespace =
                || context.scope.resolve(prefix).unwrap_or_default() == name.namespace;
            local == name.local && is_in_namespace()
        })
    };
    let element = |at: TextSize| {
        let around = tree.elements_at(at);
        let mut around = around.into_iter();
        around.find(|element| element.range() == parent.range())?;
        around.next()
    };
    Some(match listings.listed(tree, parent, step, &is_called)? {
        Listed::Placed(at) => {
            let found = at.and_then(element).map(Node::Element);
            (found.into_iter().collect(), &step.conditions[1..])
        }
        Listed::Candidates(at) => {
            let found = at.into_iter().filter_map(element);
            let is_meant = |element: &Element<'t>| {
                name.is_none_or(|name| self::is_called(context, *element, name))
            };
            let found = found.filter(is_meant).map(Node::Element);
            (found.collect(), &step.conditions)
        }
    })
}

/// How many nodes are enough to decide the first condition: a position asks for no more than there are up to it.
fn stop(step: &Step) -> usize {
    match step.conditions.first() {
        Some(Condition::Position(position)) => *position,
        _ => usize::MAX,
    }
}

/// The first `most` nodes.
fn tested<'t>(tree: &'t Tree, context: &Context<'t>, test: &Test, most: usize) -> Vec<Node<'t>> {
    let items = context.items(tree);
    match test {
        Test::Id(_) => Vec::new(),
        Test::AnyElement => items
            .filter_map(Item::into_element)
            .map(Node::Element)
            .take(most)
            .collect(),
        Test::Element(name) => items
            .filter_map(Item::into_element)
            .filter(|element| is_called(context, *element, name))
            .map(Node::Element)
            .take(most)
            .collect(),
        Test::Attribute(name) => {
            let element = context.element.as_ref();
            let found = element.and_then(|element| attribute(element, &context.scope, name));
            found.map(Node::Attribute).into_iter().collect()
        }
        Test::Namespace(prefix) => {
            let mut own = context.element.iter().flat_map(Element::attributes);
            let found = own.find(|one| one.declared_prefix() == Some(Some(prefix)));
            found.map(Node::Namespace).into_iter().collect()
        }
        // White space between the markup at the top is no node.
        Test::Text if context.element.is_none() => Vec::new(),
        Test::Text => texts(items).into_iter().map(Node::Text).collect(),
        Test::Comment => items
            .filter_map(|item| match item {
                Item::Comment(token) => Some(Node::Comment(token)),
                _ => None,
            })
            .collect(),
        Test::Instruction(target) => items
            .filter_map(|item| match item {
                Item::ProcessingInstruction(token) => {
                    let wanted = target
                        .as_ref()
                        .is_none_or(|wanted| target_of(token.text()) == wanted);
                    wanted.then_some(Node::Instruction(token))
                }
                _ => None,
            })
            .collect(),
    }
}

/// Runs of character data.
fn texts<'t>(items: syntax::Items<'t>) -> Vec<TextRange> {
    let mut runs: Vec<TextRange> = Vec::new();
    for item in items {
        if !matches!(item, Item::Text(_) | Item::CData(_) | Item::Reference(_)) {
            continue;
        }
        match runs.last_mut() {
            Some(run) if run.end() == item.range().start() => *run = run.cover(item.range()),
            _ => runs.push(item.range()),
        }
    }
    runs
}

fn target_of(instruction: &str) -> &str {
    let inner = instruction.trim_start_matches("<?").trim_end_matches("?>");
    inner
        .split([' ', '\t', '\r', '\n'])
        .next()
        .unwrap_or_default()
}

/// `around`: what the element stands in.
fn is_called<'t>(around: &Context<'t>, element: Element<'t>, name: &Name) -> bool {
    let is_in_namespace = || {
        let scope = around.scope.enter(&element);
        scope.resolve(element.prefix()).unwrap_or_default() == name.namespace
    };
    element.local_name() == name.local && is_in_namespace()
}

fn attribute<'t>(element: &Element<'t>, scope: &Scope<'t>, name: &Name) -> Option<Attribute<'t>> {
    element.attributes().find(|one| {
        let namespace = match one.prefix() {
            None => "".into(),
            prefix => scope.resolve(prefix).unwrap_or_default(),
        };
        one.declared_prefix().is_none()
            && one.local_name() == name.local
            && namespace == name.namespace
    })
}

fn holds(tree: &Tree, found: &Found<'_>, context: &Context<'_>, condition: &Condition) -> bool {
    match (condition, found.node) {
        (Condition::Attribute(name, value), Node::Element(element)) => {
            attribute(&element, &context.scope, name).is_some_and(|one| one.value() == *value)
        }
        (Condition::Child(name, value), Node::Element(element)) => element
            .children()
            .any(|child| is_called(context, child, name) && string_value(child) == *value),
        (Condition::OwnText(value), Node::Element(element)) => string_value(element) == *value,
        (Condition::OwnText(value), node) => {
            let written = &*tree.slice(node.range());
            let inner = match node {
                Node::Comment(_) => written
                    .trim_start_matches("<!--")
                    .trim_end_matches("-->")
                    .into(),
                Node::Instruction(_) => {
                    let target = target_of(written);
                    let inner = written.trim_start_matches("<?").trim_end_matches("?>");
                    inner[target.len()..].trim_start().into()
                }
                _ => character_data(written),
            };
            inner == *value
        }
        _ => false,
    }
}

/// All text in an element, at any depth.
pub(crate) fn string_value(element: Element<'_>) -> String {
    let mut value = String::new();
    let mut open = vec![element.items()];
    while let Some(items) = open.last_mut() {
        match items.next() {
            None => {
                open.pop();
            }
            Some(Item::Element(inner)) => open.push(inner.items()),
            Some(Item::Text(token) | Item::Reference(token)) => {
                value.push_str(&resolved(token.text()));
            }
            Some(Item::CData(token)) => value.push_str(&character_data(token.text())),
            Some(_) => {}
        }
    }
    value
}
