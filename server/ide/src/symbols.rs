//! The outline of a document.

use crate::owners::{named_element, owner};
use machine::UseTarget;
use project::View;
use std::collections::HashMap;
use syntax::{Children, Element, TextRange};

/// An element worth finding, with those inside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Symbol {
    /// Never empty.
    pub name: String,
    /// A few words beside the name.
    pub detail: String,
    pub kind: SymbolKind,
    /// The whole element.
    pub range: TextRange,
    /// The name where it is written; within `range`.
    pub name_range: TextRange,
    pub children: Vec<Symbol>,
}

/// What a symbol is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SymbolKind {
    Document,
    Section,
    Alias,
    Wheel,
    Sound,
    Animation,
    Channel,
    Control,
    /// Something else that has a name.
    Named,
    /// Something without a name.
    Element,
}

/// Clients that read an outline level by level refuse very deep ones.
const DEEPEST: usize = 40;

/// The root and what it holds: everything that has a name or a role or asks for
/// a node, and the elements around these. In a document of no dialect: every
/// element. Very deep ones are left out.
pub fn symbols(view: &View) -> Vec<Symbol> {
    let known = known(view);
    let Some(root) = view.tree().root() else {
        return Vec::new();
    };
    let mut open = vec![Open::new(root)];
    let mut found = Vec::new();
    while let Some(innermost) = open.last_mut() {
        if let Some(child) = innermost.children.next() {
            if open.len() < DEEPEST {
                open.push(Open::new(child));
            }
            continue;
        }
        let Some(done) = open.pop() else { break };
        let is_root = open.is_empty();
        let symbol = symbol(view, &known, done, is_root);
        match open.last_mut() {
            Some(parent) => parent.inside.extend(symbol),
            None => found.extend(symbol),
        }
    }
    found
}

/// An element whose children are being looked at.
struct Open<'v> {
    element: Element<'v>,
    children: Children<'v>,
    inside: Vec<Symbol>,
}

impl<'v> Open<'v> {
    fn new(element: Element<'v>) -> Self {
        Self {
            element,
            children: element.children(),
            inside: Vec::new(),
        }
    }
}

/// What is known of an element beforehand.
#[derive(Debug, Clone, Default)]
struct Known {
    kind: Option<SymbolKind>,
    is_at_node: bool,
    name: Option<(String, TextRange)>,
    detail: String,
}

fn symbol(
    view: &View,
    known: &HashMap<TextRange, Known>,
    done: Open<'_>,
    is_root: bool,
) -> Option<Symbol> {
    let element = done.element;
    let about = known.get(&element.range()).cloned().unwrap_or_default();
    let has_inside = !done.inside.is_empty();
    let is_known = about.kind.is_some() || about.name.is_some() || about.is_at_node;
    if view.meaning.is_some() && !is_root && !has_inside && !is_known {
        return None;
    }
    let kind = about.kind.unwrap_or(match (&about.name, has_inside) {
        _ if is_root => SymbolKind::Document,
        (Some(_), _) => SymbolKind::Named,
        (None, true) => SymbolKind::Section,
        _ => SymbolKind::Element,
    });
    let own = element.name();
    let (name, name_range) = match about.name {
        Some((name, range)) if !name.is_empty() => (name, range),
        _ if own.is_empty() => ("?".to_owned(), element.name_range()),
        _ => (own.to_owned(), element.name_range()),
    };
    let is_named = name != own;
    let detail = match (about.detail.is_empty(), is_named) {
        (true, true) => own.to_owned(),
        (true, false) => String::new(),
        (false, true) => format!("{own} {}", about.detail),
        (false, false) => about.detail,
    };
    Some(Symbol {
        name,
        detail,
        kind,
        range: element.range(),
        name_range,
        children: done.inside,
    })
}

/// The elements with a role or a name.
fn known(view: &View) -> HashMap<TextRange, Known> {
    let mut known: HashMap<TextRange, Known> = HashMap::new();
    let Some(machine) = view.machine() else {
        return known;
    };
    let mut role = |element: TextRange, kind: SymbolKind, detail: String| {
        let entry = known.entry(element).or_default();
        entry.kind.get_or_insert(kind);
        entry.detail = detail;
    };
    for alias in &machine.aliases {
        let path = alias.path.as_ref().map_or("", |path| &path.text);
        role(alias.element, SymbolKind::Alias, path.to_owned());
    }
    for wheel in &machine.wheels {
        let node = wheel.node.as_ref().map_or("", |node| &node.text);
        role(wheel.element, SymbolKind::Wheel, node.to_owned());
    }
    for sound in &machine.sounds {
        let file = sound.file.as_ref().map_or("", |file| &file.value);
        role(sound.element, SymbolKind::Sound, file.to_owned());
    }
    for animation in &machine.animations {
        role(animation.element, SymbolKind::Animation, String::new());
        for channel in &animation.channels {
            let mut properties: Vec<&str> = Vec::new();
            for property in channel.motions.iter().filter_map(|motion| motion.property) {
                if !properties.contains(&property.as_str()) {
                    properties.push(property.as_str());
                }
            }
            role(channel.element, SymbolKind::Channel, properties.join(", "));
        }
    }
    for control in &machine.controls {
        let input = control.input.as_ref().map_or("", |input| &input.value);
        role(control.element, SymbolKind::Control, input.to_owned());
    }
    for channel in machine
        .animations
        .iter()
        .flat_map(|animation| &animation.channels)
    {
        if let Some(node) = &channel.node {
            name(&mut known, channel.element, &node.text, node.range);
        }
    }
    for control in &machine.controls {
        let played = control.animation.as_ref();
        if let Some(called) = control
            .text
            .as_ref()
            .filter(|text| !text.value.is_empty())
            .or(played)
        {
            name(&mut known, control.element, &called.value, called.range);
        }
    }
    for used in &machine.uses {
        let is_node = matches!(
            used.target,
            UseTarget::Path(_) | UseTarget::Name { or_path: true, .. }
        );
        if let Some(owner) = owner(view, used.element, used.range).filter(|_| is_node) {
            let entry = known.entry(owner.range()).or_insert_with(|| Known {
                detail: view.text()[used.range].to_owned(),
                ..Known::default()
            });
            entry.is_at_node = true;
        }
    }
    for given in &machine.definitions {
        let element = named_element(view, given);
        name(&mut known, element, &given.name.value, given.name.range);
    }
    known
}

/// The first name of an element counts.
fn name(known: &mut HashMap<TextRange, Known>, element: TextRange, name: &str, range: TextRange) {
    if element.contains_range(range) {
        known
            .entry(element)
            .or_default()
            .name
            .get_or_insert_with(|| (name.to_owned(), range));
    }
}

#[cfg(test)]
mod tests;
