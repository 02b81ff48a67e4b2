//! The tree after an edit, made from the tree before it.
//!
//! The parser is a machine whose state is the stack of open elements and the place in the text. So it is enough to
//! parse again from an item that the edit touches until the machine is in the state that the old parse had at the
//! start of a later item: all that follows comes out as before and is kept. What has to be watched is everything that
//! lets the parse of one place depend on another: recoveries that read ahead (`Watch`), elements whose end was found
//! in hindsight (`hoisted`), indentation, namespaces. Where any of that reaches out of the piece that is parsed again,
//! a larger piece is tried, and in the end the whole text.
//!
//! Nobody holds the whole text: what a parse looks at is put together from the old tree and the edit (`Window`), and if
//! that turns out to be too little, more of it.

mod beside;
mod graft;
mod region;
mod window;

use std::cell::OnceCell;

use rowan::{GreenNode, NodeOrToken, TextRange, TextSize};

use crate::chars;
use crate::error::FormError;
use crate::item::Item;
use crate::kind::Kind;
use crate::markup;
use crate::parser::{Fragment, Outer, Parser, Stop};
use crate::source::{Source, Tokens};
use crate::tag::size;
use crate::text_element;
use crate::tree::parse;
use crate::wide::{self, Green, borrowed};
use crate::{Attribute, Element, TextEdit, Tree};
use graft::{with_content, with_start_tag};
use region::Region;
use window::{ROOM, Short, Window};

/// So many pieces are tried before the whole text is parsed.
const ATTEMPTS: usize = 4;

/// The tree after the edit.
pub(crate) fn edited(tree: &Tree, edit: &TextEdit) -> Tree {
    edited_with(ROOM, tree, edit).unwrap_or_else(|| {
        let edit = Edit::new(ROOM, tree, edit);
        let end = edit.after(tree.text_len());
        parse(&edit.text(TextSize::new(0), end))
    })
}

/// The same, looking at so much text behind a piece at first; None if all must be parsed again.
fn edited_with(room: TextSize, tree: &Tree, edit: &TextEdit) -> Option<Tree> {
    let edit = Edit::new(room, tree, edit);
    if tree.notes.overflow || tree.notes.prefixes_leaked {
        return None;
    }
    if tree
        .doctype
        .as_ref()
        .is_some_and(|doctype| !doctype.namespaces.is_empty())
    {
        return None;
    }
    let path = edit.path();
    if path.is_empty() {
        return edit.outside_root();
    }
    let mut attempts = ATTEMPTS;
    for depth in (0..path.len()).rev() {
        let (outer, inner) = path.split_at(depth);
        let tag = inner[0].start_tag_range();
        if tag.start() < edit.start && edit.end < tag.end() {
            if let Some(tree) = edit.start_tag(outer, inner[0]) {
                return Some(tree);
            }
        } else {
            attempts = attempts.checked_sub(1)?;
            if let Some(tree) = edit.content(&path[..=depth], inner.get(1).copied()) {
                return Some(tree);
            }
        }
    }
    None
}

/// An edit, with what it is an edit of.
struct Edit<'t> {
    tree: &'t Tree,
    /// What it replaces, in the text before it.
    start: TextSize,
    end: TextSize,
    insert: &'t str,
    room: TextSize,
    /// The first line break behind it, in the text before it.
    line_break: OnceCell<TextSize>,
}

impl<'t> Edit<'t> {
    fn new(room: TextSize, tree: &'t Tree, edit: &'t TextEdit) -> Self {
        Self {
            tree,
            start: tree.floor(edit.range.start()),
            end: tree.floor(edit.range.end()),
            insert: &edit.insert,
            room,
            line_break: OnceCell::new(),
        }
    }

    /// A place behind the edit, in the text after it.
    fn after(&self, offset: TextSize) -> TextSize {
        offset - (self.end - self.start) + TextSize::of(self.insert)
    }

    /// The same place in the text before it.
    fn before(&self, offset: TextSize) -> TextSize {
        offset - TextSize::of(self.insert) + (self.end - self.start)
    }

    /// The elements that the edit is strictly inside of.
    fn path(&self) -> Vec<Element<'t>> {
        let mut path = Vec::new();
        let mut items = self.tree.top_level();
        loop {
            items.seek(self.start);
            let inside = |element: &Element<'_>| {
                let range = element.range();
                range.start() < self.start && self.end < range.end()
            };
            let touched = items.take_while(|item| item.range().start() < self.start);
            let Some(element) = touched.filter_map(Item::into_element).find(inside) else {
                return path;
            };
            path.push(element);
            items = element.items();
        }
    }

    /// Whether the element is closed by an end tag of its own that was not found in hindsight.
    fn is_sound(&self, element: &Element<'_>) -> bool {
        let range = element.range();
        element.end_tag().is_some_and(|tag| {
            tag.name() == element.name() && tag.name_range().end() < tag.range().end()
        }) && self
            .tree
            .notes
            .hoisted
            .binary_search(&range.start())
            .is_err()
    }

    fn is_free_of_hindsight(&self, element: &Element<'_>) -> bool {
        let hoisted = &self.tree.notes.hoisted;
        let first = hoisted.partition_point(|&at| at < element.range().start());
        hoisted
            .get(first)
            .is_none_or(|&at| at >= element.range().end())
    }

    /// Where the pieces start that the edit may change although they stand before `start`; None if there are none.
    fn watched_from(&self, start: TextSize) -> Option<TextSize> {
        let watches = self.tree.notes.watches.iter();
        let reaching = watches.filter(|watch| watch.from < start && watch.to > self.start);
        reaching.map(|watch| watch.from).min()
    }

    /// What is around a part of `element`, or around that element itself, inside of `path`.
    fn outer(&self, path: &[Element<'t>], element: Element<'t>) -> Outer<'t> {
        let mut elements = Vec::with_capacity(path.len() + 1);
        let root = self.tree.root();
        // The prefixes of the root stay in force behind it, see `Parser::close_last`.
        let inside = |root: &Element<'_>| path.first().or(Some(&element)) == Some(root);
        elements.extend(root.filter(|root| !inside(root)));
        elements.extend(path);
        Outer {
            elements,
            // Elements that were open in the parse but do not show in the tree could bear any name.
            names: self
                .tree
                .notes
                .hoisted
                .is_empty()
                .then(|| path.iter().map(Element::name).collect()),
            depth: path.len() + self.tree.notes.hoisted.len(),
            doctype: self.tree.doctype.clone(),
        }
    }

    /// Parses what stands before the root element again, or what stands behind it.
    fn outside_root(&self) -> Option<Tree> {
        let root = self.tree.root()?;
        let around = root.range();
        let is_quiet =
            |error: &FormError| around.contains_range(error.range) || error.is_about_itself();
        // A DOCTYPE or a mistake outside can reach far.
        if self.tree.doctype.is_some() || !self.tree.errors.iter().all(is_quiet) {
            return None;
        }
        let region = if self.end <= around.start() && self.keeps(&Item::Element(root)) {
            (TextSize::new(0), around.start())
        } else if self.start >= around.end() && (root.is_self_closing() || self.is_sound(&root)) {
            (around.end(), self.tree.text_len())
        } else {
            return None;
        };
        let (start, end) = region;
        if self.watched_from(end).is_some() {
            return None;
        }
        let part = self.text(start, self.after(end));
        let starts_late = start > TextSize::new(0);
        if starts_late && (part.starts_with('\u{FEFF}') || markup::is_declaration(&part, 0)) {
            return None;
        }
        let (children, fragment) = Parser::new(&part).outside_root()?;
        if starts_late && !fragment.errors.is_empty() {
            return None;
        }
        let green = self.replaced(&[], TextRange::new(start, end), children)?;
        let region = Region {
            start,
            end,
            only_tag: false,
        };
        self.tree_with(green, region, fragment)
    }

    /// Parses a start tag again, if it is still a whole one of the same name.
    fn start_tag(&self, outer: &[Element<'t>], element: Element<'t>) -> Option<Tree> {
        let old = element.start_tag_range();
        // Errors elsewhere point at the name, which must stay in its place.
        if self.start < element.name_range().end() {
            return None;
        }
        if !element.is_start_tag_closed() || self.watched_from(old.start()).is_some() {
            return None;
        }
        let end = self.after(old.end());
        let (tag, fragment) = self.with_text(old.start(), end, |window| {
            let mut outer_parts = self.outer(outer, element);
            outer_parts.names = None;
            let part = window.place(old.start())..window.place(end);
            let end = part.end;
            let parser = Parser::fragment(&window.text, part, outer_parts);
            let Some((tag, fragment)) =
                parser.only_start_tag(end, element.is_self_closing(), element.name())
            else {
                return Ok(None);
            };
            match window.is_short(end, &fragment.notes.watches) {
                true => Err(Short),
                false => Ok(Some((tag, window.in_text(fragment)))),
            }
        })?;
        let green = with_start_tag(element, tag)?;
        let new = Element {
            green: borrowed(&green),
            offset: element.offset,
        };
        if prefixes(&element) != prefixes(&new) {
            return None;
        }
        let region = Region {
            start: old.start(),
            end: old.end(),
            only_tag: true,
        };
        let green = self.replaced(outer, element.range(), vec![green.clone()])?;
        self.tree_with(green, region, fragment)
    }

    /// Parses items of the content of the last of `path` again. `child`: the one that the edit is strictly inside of.
    fn content(&self, path: &[Element<'t>], child: Option<Element<'t>>) -> Option<Tree> {
        let parent = path.last()?;
        let content = parent.content_range()?;
        if !content.contains_inclusive(self.start) || !content.contains_inclusive(self.end) {
            return None;
        }
        if self.is_sound(parent) && self.is_free_of_hindsight(parent) {
            let start = self.first_touched(parent, content)?;
            self.items(path, content, start)
        } else {
            self.single(path, child?)
        }
    }

    /// Where the first item starts that has to be parsed again.
    fn first_touched(&self, parent: &Element<'t>, content: TextRange) -> Option<TextSize> {
        let mut start = self.item_at(parent, self.start).unwrap_or(content.end());
        while let Some(from) = self.watched_from(start) {
            if from < content.start() {
                return None;
            }
            let earlier = self
                .item_at(parent, from)
                .filter(|&earlier| earlier < start)?;
            start = earlier;
        }
        Some(start.min(self.start))
    }

    /// The start of the item that holds what stands at `offset`, or whose end there is open.
    fn item_at(&self, parent: &Element<'t>, offset: TextSize) -> Option<TextSize> {
        let mut items = parent.items();
        items.seek(offset);
        let holds = |item: &Item<'_>| {
            let soft = matches!(item, Item::Text(_) | Item::Reference(_));
            offset < item.range().end() || (soft && offset == item.range().end())
        };
        items.find(holds).map(|item| item.range().start())
    }

    /// Parses the content of a sound element again from `start`, until all is as it was.
    fn items(&self, path: &[Element<'t>], content: TextRange, start: TextSize) -> Option<Tree> {
        let parent = path.last()?;
        let following = || {
            let mut following = parent.items();
            following.seek(self.end);
            following
                .filter(|item| item.range().start() >= self.end && self.keeps(item))
                .map(|item| item.range().start())
                .chain([content.end()])
        };
        let first = following().next()?;
        let (stop, children, fragment) = self.with_text(start, self.after(first), |window| {
            let mut following = following();
            let Some(mut stop) = following.next() else {
                return Ok(None);
            };
            let part = window.place(start)..window.place(self.after(stop));
            let mut parser = Parser::fragment(&window.text, part, self.outer(path, *parent));
            let parsed = parser.until(|at| {
                loop {
                    let (at, wanted) = (window.offset(at), self.after(stop));
                    if at <= wanted {
                        return match at == wanted {
                            true => Stop::Here,
                            false => Stop::Later,
                        };
                    }
                    match following.next() {
                        Some(next) => stop = next,
                        None => return Stop::Missed,
                    }
                }
            });
            let parsed = self.finished(parser, parsed, window)?;
            Ok(parsed.map(|(children, fragment)| (stop, children, fragment)))
        })?;
        let region = Region {
            start,
            end: stop,
            only_tag: false,
        };
        let green = self.replaced(path, TextRange::new(start, stop), children)?;
        self.tree_with(green, region, fragment)
    }

    /// What a parser has found, if it came where it should.
    fn finished(
        &self,
        parser: Parser<'_>,
        parsed: bool,
        window: &Window,
    ) -> Result<Option<(Vec<Green>, Fragment)>, Short> {
        let at = parser.place();
        if !parsed {
            return match window.is_short(at, &[]) {
                true => Err(Short),
                false => Ok(None),
            };
        }
        let (children, fragment) = parser.finish_fragment();
        match window.is_short(at, &fragment.notes.watches) {
            true => Err(Short),
            false => Ok(Some((children, window.in_text(fragment)))),
        }
    }

    /// Whether an item behind the edit is sure to come out as before. How far it is indented can have changed, and
    /// where something is wrong that counts.
    fn keeps(&self, item: &Item<'_>) -> bool {
        if !matches!(item, Item::Element(_) | Item::Error(_)) {
            return true;
        }
        let range = item.range();
        let first = self
            .tree
            .errors
            .partition_point(|error| error.range.start() < range.start());
        let is_flawless = self
            .tree
            .errors
            .get(first)
            .is_none_or(|error| error.range.start() >= range.end());
        is_flawless || { self.line_break() < range.start() }
    }

    /// The first line break behind the edit, or the end of the text; in the text before it.
    fn line_break(&self) -> TextSize {
        *self.line_break.get_or_init(|| {
            Tokens::from(&self.tree.green, self.end)
                .find_map(|(token, start)| {
                    let skipped = usize::from(self.end.checked_sub(start).unwrap_or_default());
                    let found = token.text()[skipped..].find(['\n', '\r'])?;
                    Some(start + size(skipped + found))
                })
                .unwrap_or_else(|| self.tree.text_len())
        })
    }

    /// Parses one sound element again whose parent is not sound: it must come out as one sound element of the same
    /// name and end where it ended.
    fn single(&self, path: &[Element<'t>], child: Element<'t>) -> Option<Tree> {
        let range = child.range();
        // In an unclosed element of the same name its end tag could be taken for another.
        let twins = path
            .last()
            .is_some_and(|parent| parent.name() == child.name() && !self.is_sound(parent));
        if twins || !self.is_sound(&child) || self.watched_from(range.start()).is_some() {
            return None;
        }
        let end = self.after(range.end());
        let (children, fragment) = self.with_text(range.start(), end, |window| {
            let part = window.place(range.start())..window.place(end);
            let end = part.end;
            let mut parser = Parser::fragment(&window.text, part, self.outer(path, child));
            let parsed = parser.until(|at| match at.cmp(&end) {
                std::cmp::Ordering::Less => Stop::Later,
                std::cmp::Ordering::Equal => Stop::Here,
                std::cmp::Ordering::Greater => Stop::Missed,
            });
            self.finished(parser, parsed, window)
        })?;
        let [green] = &children[..] else {
            return None;
        };
        let new = Element {
            green: borrowed(green),
            offset: range.start(),
        };
        let closed = new.end_tag().is_some_and(|tag| tag.name() == child.name());
        let sound = matches!(Kind::of(green.kind()), Kind::Element | Kind::TextElement)
            && new.name() == child.name()
            && closed
            && !fragment.notes.hoisted.contains(&range.start());
        if !sound {
            return None;
        }
        let region = Region {
            start: range.start(),
            end: range.end(),
            only_tag: false,
        };
        let green = self.replaced(path, range, children)?;
        self.tree_with(green, region, fragment)
    }

    /// The whole tree with `new` in place of what stands at `range` in the content of the last of `path`, or at the
    /// top level if that is empty.
    fn replaced(
        &self,
        path: &[Element<'t>],
        range: TextRange,
        new: Vec<Green>,
    ) -> Option<GreenNode> {
        let (mut range, mut new) = (range, new);
        for element in path.iter().rev() {
            let start = element.start_tag_range().end();
            let node = text_element::in_parts(element.green.to_owned())?;
            let part = node.children().nth(1).and_then(NodeOrToken::into_node);
            let content = match part {
                Some(content) => {
                    wide::splice(content, range.start() - start, range.end() - start, new)
                }
                None if new.is_empty() => None,
                None => Some(wide::node(Kind::Content, new.into_iter())),
            };
            range = element.range();
            new = vec![with_content(&node, content)];
        }
        wide::splice(&self.tree.green, range.start(), range.end(), new)
    }
}

/// All that a start tag says about prefixes: those it declares and those it uses. What is in the element hangs on it.
fn prefixes<'t>(element: &Element<'t>) -> (Vec<(&'t str, &'t str)>, Vec<&'t str>) {
    let declaring = element
        .attributes()
        .filter(|a| a.declared_prefix().flatten().is_some());
    let declared = declaring.map(|a| (a.name(), a.raw_value())).collect();
    let is_use =
        |a: &Attribute<'_>| a.value_range().is_some() && chars::is_qualified_name(a.name());
    let using = element.attributes().filter(is_use);
    let mut used: Vec<_> = using.filter_map(|a| a.prefix()).collect();
    used.sort_unstable();
    used.dedup();
    (declared, used)
}

#[cfg(test)]
pub(crate) mod tests;
