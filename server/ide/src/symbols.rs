//! The outline of a document.

use std::borrow::Cow;
use std::iter::Peekable;
use std::slice;
use std::vec::IntoIter;

use machine::{Entry, Named, UseTarget};
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
    // What waits at each depth for the symbol around it.
    let mut waiting = vec![Vec::new(); DEEPEST + 1];
    each(view, |depth, mut symbol| {
        symbol.children = std::mem::take(&mut waiting[depth + 1]);
        waiting[depth].push(symbol);
    });
    waiting.swap_remove(0)
}

/// Tells of each of the [`symbols`], after its children and without them, and
/// how many others it lies in. A large document has so many that one had better
/// not hold them all.
pub fn each(view: &View, mut tell: impl FnMut(usize, Symbol)) {
    let Some(root) = view.tree().root() else {
        return;
    };
    let mut known = Known::of(view);
    let mut open = vec![known.open(root)];
    while let Some(innermost) = open.last_mut() {
        if let Some(child) = innermost.children.next() {
            if open.len() < DEEPEST {
                open.push(known.open(child));
            }
            continue;
        }
        let Some(mut done) = open.pop() else { break };
        let own = std::mem::take(&mut done.own).into_iter();
        let (texts, own): (Vec<Said>, Vec<Said>) = own.partition(|said| done.is_text(said.range));
        done.said.extend(own);
        let symbol = done.symbol(view, open.is_empty());
        if let Some(parent) = open.last_mut() {
            parent.said.extend(texts);
            parent.has_inside |= symbol.is_some();
        }
        if let Some(symbol) = symbol {
            tell(open.len(), symbol);
        }
    }
}

/// An element whose children are being looked at.
struct Open<'v> {
    element: Element<'v>,
    children: Children<'v>,
    role: Option<Role<'v>>,
    /// The values that it carries.
    own: Vec<Said>,
    /// What is said about it, in its attributes or in the texts of its children.
    said: Vec<Said>,
    /// Whether there is a symbol inside.
    has_inside: bool,
}

impl Open<'_> {
    /// Whether a value is the element's own text, and so about its parent.
    fn is_text(&self, value: TextRange) -> bool {
        let holds = |range: TextRange| range.contains_range(value);
        !holds(self.element.start_tag_range())
            && !self.element.children().any(|child| holds(child.range()))
    }

    /// Without its children.
    fn symbol(&self, view: &View, is_root: bool) -> Option<Symbol> {
        let element = self.element;
        let role = self.role.as_ref();
        let first = |is_name: bool| {
            self.said
                .iter()
                .find(|said| said.is_name == is_name)
                .map(|said| said.range)
        };
        let called = first(true).or(role.and_then(|role| role.name));
        let called =
            called.filter(|range| !range.is_empty() && element.range().contains_range(*range));
        let has_inside = self.has_inside;
        let is_known = role.is_some() || !self.said.is_empty();
        if view.meaning.is_some() && !is_root && !has_inside && !is_known {
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
            Some(range) => syntax::escape::resolved(&element.slice(range)).into_owned(),
            None if own.is_empty() => "?".to_owned(),
            None => own.to_owned(),
        };
        let beside = match (role, first(false)) {
            (Some(role), _) => Cow::Borrowed(&*role.detail),
            (None, Some(node)) => element.slice(node),
            (None, None) => Cow::Borrowed(""),
        };
        let detail = match called {
            Some(_) if beside.trim_end().is_empty() => own.to_owned(),
            Some(_) => [own, " ", beside.trim_end()].concat(),
            None => beside.into_owned(),
        };
        Some(Symbol {
            name,
            detail,
            kind,
            range: element.range(),
            name_range: called.unwrap_or(element.name_range()),
            children: Vec::new(),
        })
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

/// What is known of the elements beforehand, told in the order of the document.
struct Known<'v> {
    /// Those whose words have not been told yet.
    entries: slice::Iter<'v, Entry>,
    /// The elements that are given names, with the names' places.
    names: Peekable<IntoIter<Named>>,
    /// What is left of the words of the entries before, with the elements that they are about.
    words: Peekable<IntoIter<(TextRange, Word<'v>)>>,
}

impl<'v> Known<'v> {
    fn of(view: &'v View) -> Self {
        let outline = view.meaning.as_ref().map(|meaning| &meaning.outline);
        let mut names = outline.map(|outline| outline.named()).unwrap_or_default();
        names.sort_unstable_by_key(|named| (named.element.start(), named.name.start()));
        Self {
            entries: outline.map_or(&[][..], |outline| outline.entries()).iter(),
            names: names.into_iter().peekable(),
            words: Vec::new().into_iter().peekable(),
        }
    }

    /// The words of the next entry.
    fn next(&mut self) -> Option<Vec<(TextRange, Word<'v>)>> {
        let entry = self.entries.next()?;
        let mut words = Vec::new();
        let end = entry.portion.range.end();
        while let Some(named) = self.names.next_if(|named| named.element.start() < end) {
            let said = Said {
                is_name: true,
                range: named.name,
            };
            words.push((named.element, Word::Said(said)));
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
        words.sort_by_key(|(element, _)| element.start());
        Some(words)
    }

    /// Elements are opened in the order of the document.
    fn open(&mut self, element: Element<'v>) -> Open<'v> {
        let range = element.range();
        let mut open = Open {
            element,
            children: element.children(),
            role: None,
            own: Vec::new(),
            said: Vec::new(),
            has_inside: false,
        };
        loop {
            while let Some((of, word)) = self.words.next_if(|(of, _)| of.start() <= range.start()) {
                match word {
                    _ if of != range => {}
                    Word::Role(role) => open.role = open.role.or(Some(role)),
                    Word::Said(said) => open.own.push(said),
                }
            }
            if self.words.peek().is_some() {
                return open;
            }
            match self.next() {
                Some(words) => self.words = words.into_iter().peekable(),
                None => return open,
            }
        }
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
