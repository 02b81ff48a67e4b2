//! What each word of a document is, for colours: elements, attributes, names and where they lead, numbers.

use std::collections::{HashMap, HashSet};

use dialect::{AttributeDecl, ItemType, Kind, NameScope, NodePath};
use machine::{Chain, Definition, Machine, NameIndex, Use, UseTarget, is_foreign};
use project::{FileState, View};
use syntax::{Children, TextRange, TextSize};

use crate::spot::{declaration, reader, within as part_of};

/// A word of the document.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Token {
    /// Not empty. A value may go over several lines.
    pub range: TextRange,
    pub kind: TokenKind,
    /// The name is given here, not used.
    pub is_given: bool,
    /// It should lead somewhere or be known, and does not or is not.
    pub is_unresolved: bool,
}

/// What a word is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum TokenKind {
    Element,
    Attribute,
    /// The name of an animation.
    Animation,
    /// Any other name, or the position that stands for one.
    Name,
    /// A place in the scene.
    IndexPath,
    Input,
    File,
    /// One of a closed list.
    Word,
    Number,
}

/// The words within a range of the document, in order, none overlapping another. Nothing without a dialect: what an
/// editor knows of XML by itself is enough there.
pub fn tokens(view: &View, within: TextRange) -> Vec<Token> {
    let (Some(machine), Some(reader)) = (view.machine(), reader(view)) else {
        return Vec::new();
    };
    let mut writer = Writer {
        view,
        within,
        tokens: Vec::new(),
    };
    writer.names(machine);
    let mut chain: Chain<'_> = reader.root().into_iter().collect();
    let mut open: Vec<Children<'_>> = Vec::new();
    if let Some(root) = chain.first() {
        open.push(root.element.children());
        writer.element(&chain);
    }
    while let Some(children) = open.last_mut() {
        let Some(child) = children.next() else {
            open.pop();
            chain.pop();
            continue;
        };
        if child.range().start() >= within.end() {
            open.pop();
            chain.pop();
            continue;
        }
        if !writer.reaches(child.range()) {
            continue;
        }
        // What is in a foreign namespace is nobody's business here, and what is in it neither.
        let parent = chain.last().copied();
        if let Some(located) = parent.and_then(|parent| reader.locate(&chain, &parent, child)) {
            chain.push(located);
            writer.element(&chain);
            open.push(child.children());
        }
    }
    in_order(writer.tokens)
}

/// A word that two facts are about is what the first says it is.
fn in_order(mut tokens: Vec<Token>) -> Vec<Token> {
    tokens.sort_by_key(|token| (token.range.start(), token.range.end()));
    let mut end = TextSize::new(0);
    tokens.retain(|token| {
        let is_free = token.range.start() >= end;
        if is_free {
            end = token.range.end();
        }
        is_free
    });
    tokens
}

struct Writer<'v> {
    view: &'v View,
    within: TextRange,
    tokens: Vec<Token>,
}

impl<'v> Writer<'v> {
    fn reaches(&self, range: TextRange) -> bool {
        range.start() < self.within.end() && self.within.start() < range.end()
    }

    fn add(&mut self, range: TextRange, kind: TokenKind) -> Option<&mut Token> {
        if range.is_empty() || !self.reaches(range) {
            return None;
        }
        self.tokens.push(Token {
            range,
            kind,
            is_given: false,
            is_unresolved: false,
        });
        self.tokens.last_mut()
    }

    fn add_use(&mut self, range: TextRange, kind: TokenKind, is_unresolved: bool) {
        if let Some(token) = self.add(range, kind) {
            token.is_unresolved = is_unresolved;
        }
    }

    /// Its own words: names of element and attributes, and values that lead nowhere.
    fn element(&mut self, chain: &Chain<'v>) {
        let Some((located, above)) = chain.split_last() else {
            return;
        };
        let element = located.element;
        let declared = declaration(self.view, chain);
        let parent = above
            .last()
            .and_then(|parent| self.view.dialect()?.element(parent.context));
        let is_known = parent.is_none_or(|parent| {
            parent.open || declared.is_some() && parent.child(element.local_name()).is_some()
        });
        self.add_use(element.name_range(), TokenKind::Element, !is_known);
        if let Some(end) = element.end_tag() {
            self.add_use(end.name_range(), TokenKind::Element, !is_known);
        }
        let Some(declared) = declared else { return };
        for attribute in element.attributes() {
            let known = declared.attribute(attribute.name());
            let is_unknown = known.is_none() && !declared.open && !is_foreign(attribute);
            self.add_use(attribute.name_range(), TokenKind::Attribute, is_unknown);
            if let (Some(known), Some(range)) = (known, attribute.value_range()) {
                self.value(known, range);
            }
        }
        if let (Some(text), Some(range)) = (&declared.text, element.text_range()) {
            self.value(text, range);
        }
    }

    fn value(&mut self, declared: &AttributeDecl, range: TextRange) {
        let (Some(kind), Some(dialect)) = (plain(&declared.value.item), self.view.dialect()) else {
            return;
        };
        for item in dialect.items(&declared.value, &self.view.text()[range], None) {
            self.add(part_of(range, &item), kind);
        }
    }

    /// The words that lead somewhere, or that something leads to.
    fn names(&mut self, machine: &'v Machine) {
        let names = Names::of(self.view, machine);
        for given in &machine.definitions {
            let kind = names.kind(given);
            if let Some(token) = self.add(given.name.range, kind) {
                token.is_given = true;
            }
        }
        for used in &machine.uses {
            if self.reaches(used.range) {
                let (kind, is_unresolved) = names.used(used);
                self.add_use(used.range, kind, is_unresolved);
            }
        }
        for file in &machine.files {
            let state = self
                .view
                .meaning
                .as_ref()
                .map(|it| it.file(&file.name.value));
            let is_missing = matches!(state, Some(FileState::Missing(_)));
            self.add_use(file.name.range, TokenKind::File, is_missing);
        }
    }
}

/// The words of a value that leads nowhere; nothing for those that do, and for mere text.
fn plain(item: &ItemType) -> Option<TokenKind> {
    match item {
        ItemType::Boolean { .. } | ItemType::Word(_) => Some(TokenKind::Word),
        ItemType::Integer { .. }
        | ItemType::Number { .. }
        | ItemType::Vector { .. }
        | ItemType::Colour(_)
        | ItemType::MovedValue { .. } => Some(TokenKind::Number),
        _ => None,
    }
}

/// Where the names of a document lead.
struct Names<'v> {
    view: &'v View,
    index: NameIndex<'v>,
    /// Where the names of animations stand.
    animations: HashSet<TextRange>,
    counts: HashMap<&'v Kind, i64>,
}

impl<'v> Names<'v> {
    fn of(view: &'v View, machine: &'v Machine) -> Self {
        let animations = machine.animations.iter();
        let mut counts = HashMap::new();
        for thing in &machine.counted {
            *counts.entry(&thing.kind).or_default() += 1;
        }
        Self {
            view,
            index: machine.index(),
            animations: animations
                .filter_map(|animation| Some(animation.name.as_ref()?.range))
                .collect(),
            counts,
        }
    }

    fn kind(&self, given: &Definition) -> TokenKind {
        if self.animations.contains(&given.name.range) {
            TokenKind::Animation
        } else {
            TokenKind::Name
        }
    }

    /// What a use is, and whether it leads nowhere.
    fn used(&self, used: &Use) -> (TokenKind, bool) {
        match &used.target {
            UseTarget::Name {
                kinds,
                name,
                or_node,
                ..
            } => match (self.index.definition(kinds, name), or_node) {
                (Some(given), _) => (self.kind(given), false),
                (None, Some(path)) => (TokenKind::IndexPath, self.is_lost(path)),
                // Names of a mod may be given by documents that nobody has read here.
                (None, None) => (
                    TokenKind::Name,
                    !kinds.iter().any(|kind| self.is_of_the_mod(kind)),
                ),
            },
            UseTarget::Position { kind, index } => {
                let count = self.counts.get(kind).copied().unwrap_or_default();
                (TokenKind::Name, !(0..count).contains(index))
            }
            UseTarget::Path(path) => (TokenKind::IndexPath, self.is_lost(path)),
            UseTarget::Input { .. } => (TokenKind::Input, false),
        }
    }

    /// Whether a path leads to no node of the scene.
    fn is_lost(&self, path: &NodePath) -> bool {
        let scene = self.view.scene();
        scene.is_some_and(|scene| scene.find(path).is_err())
    }

    fn is_of_the_mod(&self, kind: &Kind) -> bool {
        let dialect = self.view.dialect();
        dialect.is_some_and(|dialect| dialect.name_scope(kind) == NameScope::Folder)
    }
}

#[cfg(test)]
mod tests;
