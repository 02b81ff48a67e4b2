//! Where what I added goes in the author's version, and how it is written there.

use syntax::escape::plain_lines;
use syntax::{Item, TextEdit, TextRange, TextSize};

use super::Merger;
use crate::bindings;
use crate::document::{Document, Id, Kind};

/// A place in the author's version.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Place {
    After(Id),
    Before(Id),
    /// As the last of what is in it.
    In(Id),
}

impl Merger<'_, '_> {
    /// Behind the nearest neighbour before it that is there too; else before the nearest one after it.
    pub(super) fn place(&self, own: Id, new_parent: Id) -> Place {
        let siblings = &self.own.nodes[self.own.nodes[own].parent].children;
        let at = siblings.partition_point(|other| *other < own);
        let there = |own: &Id| {
            let old = self.to_own.old_of[*own]?;
            let new = self.to_new.new_of[old]?;
            let stays = self.to_own.stays[old] && self.new.nodes[new].parent == new_parent;
            let is_fixed = matches!(self.new.nodes[new].kind, Kind::Fixed);
            (stays && !is_fixed).then_some(new)
        };
        let before = siblings[..at].iter().rev().find_map(there);
        let after = || siblings[at..].iter().find_map(there);
        match before {
            Some(before) => Place::After(before),
            None => after().map_or(Place::In(new_parent), Place::Before),
        }
    }

    /// A prefix in it that means something else at the new place.
    pub(super) fn other_prefix(&self, own: Id, new_parent: Id) -> Option<String> {
        let here = bindings::inside(self.own, self.own.nodes[own].parent);
        let there = bindings::inside(self.new, new_parent);
        let differs = |prefix: &Option<String>| {
            let meaning =
                |bindings: &bindings::Bindings| bindings.get(prefix).cloned().unwrap_or_default();
            meaning(&here) != meaning(&there)
        };
        let prefixes: Vec<&Option<String>> = here.keys().chain(there.keys()).collect();
        if !prefixes.iter().any(|prefix| differs(prefix)) {
            return None;
        }
        let mut open = vec![own];
        while let Some(id) = open.pop() {
            let Some(element) = self.own.element(id) else {
                continue;
            };
            let own = element.prefix().map(str::to_owned);
            let named = element.attributes().filter_map(|one| one.prefix());
            let named = named.filter(|prefix| !matches!(*prefix, "xml" | "xmlns"));
            let mut used = std::iter::once(own).chain(named.map(|prefix| Some(prefix.to_owned())));
            if let Some(prefix) = used.find(|prefix| differs(prefix)) {
                return Some(prefix.unwrap_or_else(|| "xmlns".to_owned()));
            }
            open.extend(self.own.elements(id));
        }
        None
    }

    pub(super) fn insertion(&self, place: Place, nodes: &[Id]) -> Option<TextEdit> {
        match place {
            Place::After(id) => Some(self.insertion_after(id, nodes)),
            Place::Before(id) => Some(self.insertion_before(id, nodes)),
            Place::In(parent) => self.insertion_in(parent, nodes),
        }
    }

    /// Nodes of mine, each as it is written on a line that is indented like this.
    fn lines(&self, nodes: &[Id], indent: &str) -> Vec<String> {
        let nodes = nodes.iter();
        nodes.map(|id| self.in_their_style(*id, indent)).collect()
    }

    fn insertion_after(&self, id: Id, nodes: &[Id]) -> TextEdit {
        let indent = line_indent(self.new, id);
        let newline = self.styles[0].newline;
        let gap = indent.map_or_else(String::new, |indent| format!("{newline}{indent}"));
        let mut before = self.mine(id);
        let mut added = String::new();
        let mut behind = id;
        for (node, line) in nodes.iter().zip(self.lines(nodes, indent.unwrap_or(""))) {
            match self.trails(*node, before) {
                Some(blanks) => added.push_str(blanks),
                None => {
                    if added.is_empty() {
                        behind = self.last_on_line(id, *node);
                    }
                    added.push_str(&gap);
                }
            }
            added.push_str(&line);
            before = Some(*node);
        }
        TextEdit::insert(self.new.nodes[behind].range.end(), added)
    }

    fn insertion_before(&self, id: Id, nodes: &[Id]) -> TextEdit {
        let (indent, gap) = match own_indent(self.new, id) {
            Some(indent) => (indent, format!("{}{indent}", self.styles[0].newline)),
            None => ("", String::new()),
        };
        let lines = self.lines(nodes, indent).into_iter();
        let added: String = lines.map(|line| line + &gap).collect();
        TextEdit::insert(self.new.nodes[id].range.start(), added)
    }

    fn insertion_in(&self, parent: Id, nodes: &[Id]) -> Option<TextEdit> {
        let element = self.new.element(parent)?;
        let style = &self.styles[0];
        let outer = own_indent(self.new, parent).unwrap_or("");
        let indent = format!("{outer}{}", style.indent);
        let lines = self.lines(nodes, &indent).into_iter();
        let added: String = lines
            .map(|line| format!("{}{indent}{line}", style.newline))
            .collect();
        let added = format!("{added}{}{outer}", style.newline);
        Some(match element.content_range() {
            Some(inner) => {
                let content = self.new.slice(inner);
                let kept = content.trim_end_matches([' ', '\t', '\r', '\n']);
                let start = inner.start() + TextSize::of(kept);
                TextEdit::replace(TextRange::new(start, inner.end()), added)
            }
            None => {
                let tag = self.new.slice(element.start_tag_range());
                let kept = tag.trim_end_matches("/>").trim_end();
                let start = element.range().start() + TextSize::of(kept);
                let rest = TextRange::new(start, element.range().end());
                TextEdit::replace(rest, format!(">{added}</{}>", element.name()))
            }
        })
    }

    /// What this node is in mine.
    fn mine(&self, new: Id) -> Option<Id> {
        self.to_own.new_of[self.to_new.old_of[new]?]
    }

    /// The last of the comments behind a node on its line that do not stand behind `added` in mine, else the node.
    fn last_on_line(&self, new: Id, added: Id) -> Id {
        let siblings = &self.new.nodes[self.new.nodes[new].parent].children;
        let at = siblings.partition_point(|other| *other <= new);
        let behind = siblings[at..].iter().copied();
        let comments = behind
            .take_while(|one| !breaks_line(self.new, *one))
            .filter(|one| !self.new.is_text(*one))
            .take_while(|one| {
                matches!(self.new.nodes[*one].kind, Kind::Comment)
                    && self.mine(*one).is_none_or(|mine| mine < added)
            });
        comments.last().unwrap_or(new)
    }

    /// The blanks between this node and a comment of mine behind it on its line.
    fn trails(&self, comment: Id, before: Option<Id>) -> Option<&str> {
        let [before, comment] = [before?, comment].map(|id| &self.own.nodes[id]);
        let gap = usize::from(before.range.end())..usize::from(comment.range.start());
        let gap = self.own.text.get(gap)?;
        let trails =
            matches!(comment.kind, Kind::Comment) && gap.trim_matches([' ', '\t']).is_empty();
        trails.then_some(gap)
    }

    /// What I wrote, with the author's line breaks, indentation and quotes.
    fn in_their_style(&self, own: Id, indent: &str) -> String {
        let [theirs, mine] = &self.styles;
        let start = self.own.nodes[own].range.start();
        let own_start = own_indent(self.own, own).unwrap_or("");
        let mut edits = Vec::new();
        let mut open = vec![own];
        while let Some(id) = open.pop() {
            let Some(element) = self.own.element(id) else {
                continue;
            };
            for attribute in element.attributes() {
                let other = attribute.quote().filter(|quote| *quote != theirs.quote);
                if let (Some(_), Some(value)) = (other, attribute.value_range())
                    && !attribute.raw_value().contains(theirs.quote)
                {
                    let quote = theirs.quote.to_string();
                    let one = TextSize::new(1);
                    for at in [value.start() - one, value.end()] {
                        edits.push(TextEdit::replace(TextRange::at(at, one), quote.clone()));
                    }
                }
            }
            for item in element.items() {
                let Item::Text(token) = item else { continue };
                let Some((lines, inner)) = token.text().rsplit_once(['\n', '\r']) else {
                    continue;
                };
                if !crate::document::is_blank(token.text()) {
                    continue;
                }
                let mut rest = inner.strip_prefix(own_start).unwrap_or("");
                let mut depth = String::new();
                while let Some(shorter) = rest.strip_prefix(mine.indent.as_str()) {
                    depth.push_str(&theirs.indent);
                    rest = shorter;
                }
                let breaks = plain_lines(lines).matches('\n').count();
                let breaks = "\n".repeat(breaks + 1);
                let breaks = match lines.ends_with('\r') {
                    true => breaks[1..].to_owned(),
                    false => breaks,
                };
                edits.push(TextEdit::replace(
                    token.range(),
                    format!("{breaks}{indent}{depth}{rest}"),
                ));
            }
            open.extend(self.own.elements(id));
        }
        for edit in &mut edits {
            edit.range -= start;
        }
        edits.sort_by_key(|edit| edit.range.start());
        let written = self.own.written(own);
        // Edits of white space and quotes that are there always fit.
        let text = syntax::apply(written, &edits).unwrap_or_else(|_| written.to_owned());
        self.with_their_lines(&text)
    }
}

/// The blanks before a node that is the first thing on its line.
fn own_indent<'t>(document: &Document<'t>, id: Id) -> Option<&'t str> {
    let before = &document.text[..usize::from(document.nodes[id].range.start())];
    let bare = before.trim_end_matches([' ', '\t']);
    (bare.ends_with(['\n', '\r'])).then(|| &before[bare.len()..])
}

/// The blanks at the start of the line that a node is on, if it or a neighbour before it is the first thing there.
fn line_indent<'t>(document: &Document<'t>, id: Id) -> Option<&'t str> {
    let siblings = &document.nodes[document.nodes[id].parent].children;
    let at = siblings.partition_point(|other| *other < id);
    let before = siblings[..at].iter().rev().copied();
    let on_line = before.take_while(|one| !breaks_line(document, *one));
    let first = on_line.filter(|one| !document.is_text(*one)).last();
    own_indent(document, first.unwrap_or(id))
}

/// Whether what stands next to a node is text that is more than blanks in a line.
fn breaks_line(document: &Document<'_>, id: Id) -> bool {
    match document.nodes[id].kind {
        Kind::Text { is_blank } => !is_blank || document.written(id).contains(['\n', '\r']),
        _ => false,
    }
}
