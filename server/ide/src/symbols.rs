//! The outline of a document.

use std::borrow::Cow;
use std::ops::Range;

use machine::{Definition, Entry, UseTarget};
use project::View;
use syntax::{Children, Element, TextRange, TextSize};

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
    let mut known = Known::of(view);
    let mut open = vec![known.open(root)];
    let mut found = Vec::new();
    while let Some(innermost) = open.last_mut() {
        if let Some(child) = innermost.children.next() {
            if open.len() < DEEPEST {
                open.push(known.open(child));
            }
            continue;
        }
        let Some(mut done) = open.pop() else { break };
        let said = known.said(&done);
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
    /// Which words of [`Known`] are about it.
    words: Range<usize>,
    inside: Vec<Symbol>,
    /// What is said about it, in its attributes or in the texts of its children.
    said: Vec<Said>,
}

impl Open<'_> {
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

/// Something that is known of an element beforehand.
#[derive(Debug)]
enum Word<'v> {
    Role(Role<'v>),
    /// A value that the element carries.
    Said(Said),
}

/// What is known of the elements beforehand.
struct Known<'v> {
    view: &'v View,
    /// With the elements they are about, in the order of the document.
    words: Vec<(TextRange, Word<'v>)>,
    /// The first that is about an element that has not been opened yet.
    next: usize,
}

impl<'v> Known<'v> {
    fn of(view: &'v View) -> Self {
        let mut words = Vec::new();
        if let Some(meaning) = &view.meaning {
            let whole = TextRange::up_to(TextSize::of(view.text()));
            let mut names = meaning.outline.definitions_in(whole);
            names.sort_by_key(|given| given.element.start());
            let mut names = names.into_iter().peekable();
            for entry in meaning.outline.entries() {
                let own = words.len();
                let end = entry.portion.range.end();
                let is_here = |given: &Definition| given.element.start() < end;
                while let Some(given) = names.next_if(is_here) {
                    let said = Said {
                        is_name: true,
                        range: given.name.range,
                    };
                    words.push((given.element, Word::Said(said)));
                }
                roles(entry, &mut words);
                for used in &entry.facts.uses {
                    if matches!(
                        used.target,
                        UseTarget::Path(_) | UseTarget::Name { or_path: true, .. }
                    ) {
                        let said = Said {
                            is_name: false,
                            range: entry.placed(&used.range),
                        };
                        words.push((entry.placed(&used.element), Word::Said(said)));
                    }
                }
                // Stable: what was added first counts first.
                words[own..].sort_by_key(|(element, _)| element.start());
            }
        }
        Self {
            view,
            words,
            next: 0,
        }
    }

    /// Elements are opened in the order of the document.
    fn open(&mut self, element: Element<'v>) -> Open<'v> {
        let start = element.range().start();
        let rest = &self.words[self.next..];
        let before = rest.iter().take_while(|(of, _)| of.start() < start);
        let first = self.next + before.count();
        let rest = &self.words[first..];
        let own = rest.iter().take_while(|(of, _)| of.start() == start);
        self.next = first + own.count();
        Open {
            element,
            children: element.children(),
            words: first..self.next,
            inside: Vec::new(),
            said: Vec::new(),
        }
    }

    fn words(&self, open: &Open<'_>) -> impl Iterator<Item = &Word<'v>> {
        let range = open.element.range();
        let words = self.words[open.words.clone()].iter();
        words
            .filter(move |(of, _)| *of == range)
            .map(|(_, word)| word)
    }

    fn said(&self, open: &Open<'_>) -> impl Iterator<Item = Said> {
        self.words(open).filter_map(|word| match word {
            Word::Said(said) => Some(*said),
            Word::Role(_) => None,
        })
    }

    fn symbol(&self, done: Open<'_>, is_root: bool) -> Option<Symbol> {
        let element = done.element;
        let role = self.words(&done).find_map(|word| match word {
            Word::Role(role) => Some(role),
            Word::Said(_) => None,
        });
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
            Some(_) if beside.trim_end().is_empty() => own.to_owned(),
            Some(_) => [own, " ", beside.trim_end()].concat(),
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

/// The roles of the elements that an entry speaks of.
fn roles<'v>(entry: &'v Entry, words: &mut Vec<(TextRange, Word<'v>)>) {
    let facts = &entry.facts;
    let mut add = |element: TextRange, kind, detail: Cow<'v, str>, name: Option<TextRange>| {
        let role = Role {
            kind,
            detail,
            name: name.map(|name| entry.placed(&name)),
        };
        words.push((entry.placed(&element), Word::Role(role)));
    };
    for alias in &facts.aliases {
        let path = alias.path.as_ref().map_or("", |path| &path.text);
        add(alias.element, SymbolKind::Alias, path.into(), None);
    }
    for wheel in &facts.wheels {
        let node = wheel.node.as_ref().map_or("", |node| &node.text);
        add(wheel.element, SymbolKind::Wheel, node.into(), None);
    }
    for sound in &facts.sounds {
        let file = sound.file.as_ref().map_or("", |file| &file.value);
        add(sound.element, SymbolKind::Sound, file.into(), None);
    }
    for animation in &facts.animations {
        add(animation.element, SymbolKind::Animation, "".into(), None);
    }
    for channel in entry.channels() {
        let mut properties: Vec<&str> = Vec::new();
        for property in channel.motions.iter().filter_map(|motion| motion.property) {
            if !properties.contains(&property.as_str()) {
                properties.push(property.as_str());
            }
        }
        let node = channel.node.as_ref().map(|node| node.range);
        let detail = match properties[..] {
            [only] => only.into(),
            _ => properties.join(", ").into(),
        };
        add(channel.element, SymbolKind::Channel, detail, node);
    }
    for control in &facts.controls {
        let input = control.input.as_ref().map_or("", |input| &input.value);
        let text = control.text.as_ref().filter(|text| !text.value.is_empty());
        let name = text.or(control.animation.as_ref()).map(|name| name.range);
        add(control.element, SymbolKind::Control, input.into(), name);
    }
}

#[cfg(test)]
mod tests;
