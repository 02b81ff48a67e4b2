//! The outline of a document.

use std::borrow::Cow;

use foldhash::{HashMap, HashMapExt};
use machine::{Machine, UseTarget};
use project::View;
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
    let Some(root) = view.tree().root() else {
        return Vec::new();
    };
    let known = Known::of(view);
    let mut open = vec![Open::new(root)];
    let mut found = Vec::new();
    while let Some(innermost) = open.last_mut() {
        if let Some(child) = innermost.children.next() {
            if open.len() < DEEPEST {
                open.push(Open::new(child));
            }
            continue;
        }
        let Some(mut done) = open.pop() else { break };
        let said = known.said.get(&done.element.range()).into_iter().flatten();
        let (texts, own): (Vec<Said>, Vec<Said>) = said.partition(|said| done.is_text(said.range));
        done.said.extend(own);
        match open.last_mut() {
            Some(parent) => {
                parent.said.extend(texts);
                parent.inside.extend(known.symbol(done, false));
            }
            None => found.extend(known.symbol(done, true)),
        }
    }
    found
}

/// An element whose children are being looked at.
struct Open<'v> {
    element: Element<'v>,
    children: Children<'v>,
    inside: Vec<Symbol>,
    /// What is said about it, in its attributes or in the texts of its children.
    said: Vec<Said>,
}

impl<'v> Open<'v> {
    fn new(element: Element<'v>) -> Self {
        Self {
            element,
            children: element.children(),
            inside: Vec::new(),
            said: Vec::new(),
        }
    }

    /// Whether a value is the element's own text, and so about its parent.
    fn is_text(&self, value: TextRange) -> bool {
        let holds = |range: TextRange| range.contains_range(value);
        !holds(self.element.start_tag_range())
            && !self.element.children().any(|child| holds(child.range()))
    }
}

/// A value that makes an element worth finding.
#[derive(Debug, Clone, Copy)]
struct Said {
    is_name: bool,
    range: TextRange,
}

/// What a role gives an element.
#[derive(Debug)]
struct Role<'v> {
    kind: SymbolKind,
    detail: Cow<'v, str>,
    /// For things that give no name: what they are best called by.
    name: Option<TextRange>,
}

/// What is known of the elements beforehand.
struct Known<'v> {
    view: &'v View,
    roles: HashMap<TextRange, Role<'v>>,
    /// By the element that carries the value.
    said: HashMap<TextRange, Vec<Said>>,
}

impl<'v> Known<'v> {
    fn of(view: &'v View) -> Self {
        let mut said: HashMap<TextRange, Vec<Said>> = HashMap::new();
        let mut add = |element: TextRange, is_name: bool, range: TextRange| {
            said.entry(element)
                .or_default()
                .push(Said { is_name, range });
        };
        if let Some(machine) = view.machine() {
            for given in &machine.definitions {
                add(given.element, true, given.name.range);
            }
            for used in &machine.uses {
                if matches!(
                    used.target,
                    UseTarget::Path(_) | UseTarget::Name { or_path: true, .. }
                ) {
                    add(used.element, false, used.range);
                }
            }
        }
        Self {
            view,
            roles: view.machine().map(roles).unwrap_or_default(),
            said,
        }
    }

    fn symbol(&self, done: Open<'_>, is_root: bool) -> Option<Symbol> {
        let element = done.element;
        let role = self.roles.get(&element.range());
        let first = |is_name: bool| {
            done.said
                .iter()
                .find(|said| said.is_name == is_name)
                .map(|said| said.range)
        };
        let called = first(true).or(role.and_then(|role| role.name));
        let called =
            called.filter(|range| !range.is_empty() && element.range().contains_range(*range));
        let has_inside = !done.inside.is_empty();
        let is_known = role.is_some() || !done.said.is_empty();
        if self.view.meaning.is_some() && !is_root && !has_inside && !is_known {
            return None;
        }
        let kind = match (role, called, has_inside) {
            _ if is_root => SymbolKind::Document,
            (Some(role), ..) => role.kind,
            (None, Some(_), _) => SymbolKind::Named,
            (None, None, true) => SymbolKind::Section,
            (None, None, false) => SymbolKind::Element,
        };
        let own = element.name();
        let name = match called {
            Some(range) => syntax::escape::resolved(&self.view.text()[range]).into_owned(),
            None if own.is_empty() => "?".to_owned(),
            None => own.to_owned(),
        };
        let beside = match (role, first(false)) {
            (Some(role), _) => &*role.detail,
            (None, Some(node)) => &self.view.text()[node],
            (None, None) => "",
        };
        let detail = match called {
            Some(_) => format!("{own} {beside}").trim_end().to_owned(),
            None => beside.to_owned(),
        };
        Some(Symbol {
            name,
            detail,
            kind,
            range: element.range(),
            name_range: called.unwrap_or(element.name_range()),
            children: done.inside,
        })
    }
}

fn roles(machine: &Machine) -> HashMap<TextRange, Role<'_>> {
    let mut roles = HashMap::new();
    let mut add = |element: TextRange, kind, detail, name| {
        let role = Role { kind, detail, name };
        roles.entry(element).or_insert(role);
    };
    for alias in &machine.aliases {
        let path = alias.path.as_ref().map_or("", |path| &path.text);
        add(alias.element, SymbolKind::Alias, path.into(), None);
    }
    for wheel in &machine.wheels {
        let node = wheel.node.as_ref().map_or("", |node| &node.text);
        add(wheel.element, SymbolKind::Wheel, node.into(), None);
    }
    for sound in &machine.sounds {
        let file = sound.file.as_ref().map_or("", |file| &file.value);
        add(sound.element, SymbolKind::Sound, file.into(), None);
    }
    for animation in &machine.animations {
        add(animation.element, SymbolKind::Animation, "".into(), None);
        for channel in &animation.channels {
            let mut properties: Vec<&str> = Vec::new();
            for property in channel.motions.iter().filter_map(|motion| motion.property) {
                if !properties.contains(&property.as_str()) {
                    properties.push(property.as_str());
                }
            }
            let node = channel.node.as_ref().map(|node| node.range);
            add(
                channel.element,
                SymbolKind::Channel,
                match properties[..] {
                    [only] => only.into(),
                    _ => properties.join(", ").into(),
                },
                node,
            );
        }
    }
    for control in &machine.controls {
        let input = control.input.as_ref().map_or("", |input| &input.value);
        let text = control.text.as_ref().filter(|text| !text.value.is_empty());
        let name = text.or(control.animation.as_ref()).map(|name| name.range);
        add(control.element, SymbolKind::Control, input.into(), name);
    }
    roles
}

#[cfg(test)]
mod tests;
