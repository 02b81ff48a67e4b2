//! Somebody's changes to an old version, made to the author's new one.
//!
//! What changed from the old version to mine is found as for [`crate::changes`]; each change is made in the new version where
//! the same thing is there now, if the author left that thing alone. Else it is a conflict, and the author's side stays.

mod insert;
mod remarks;

use std::collections::{BTreeMap, BTreeSet};

use syntax::{Style, TextEdit, TextRange, TextSize};

use crate::Version;
use crate::document::{Document, Id, Kind, TOP};
use crate::identity::Identities;
use crate::labels::{Labels, cut};
use crate::matching::Matching;
use insert::Place;

/// The new version with my changes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Merged {
    /// The author's bytes, but for what I changed.
    pub text: String,
    /// How many changes were made.
    pub made: usize,
    /// How many changes of mine the author made as well.
    pub shared: usize,
    pub conflicts: Vec<Conflict>,
}

/// A change of mine that was not made, since the author changed the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Conflict {
    /// What it is about.
    pub subject: String,
    /// What each has there; None: nothing.
    pub base: Option<String>,
    pub theirs: Option<String>,
    pub mine: Option<String>,
    /// In the new version, in bytes, if it is there.
    pub place: Option<TextRange>,
    /// In my version, in bytes, if it is there.
    pub mine_place: Option<TextRange>,
}

/// # Errors
/// The result would not be well-formed.
pub fn merge(
    base: &Version<'_>,
    theirs: &Version<'_>,
    mine: &Version<'_>,
) -> Result<Merged, String> {
    let documents = [base.document(), theirs.document(), mine.document()];
    let identities = [base, theirs, mine].map(|version| Identities::new(version.meaning));
    let [old, new, own] = &documents;
    let [olds, news, owns] = identities;
    let labels = [base, theirs, mine].map(|version| {
        let machine = version
            .meaning
            .map(|(dialect, kind)| machine::read(version.tree, dialect, kind));
        Labels::of(machine.as_ref())
    });
    let mut merger = Merger {
        old,
        new,
        own,
        identities,
        labels,
        to_new: Matching::of(old, new, [olds, news]),
        to_own: Matching::of(old, own, [olds, owns]),
        styles: [Style::of(theirs.tree), Style::of(mine.tree)],
        edits: Vec::new(),
        deleted: Vec::new(),
        inserted: BTreeMap::new(),
        anew: BTreeSet::new(),
        made: 0,
        shared: 0,
        conflicts: Vec::new(),
    };
    merger.merge();
    let (made, shared) = (merger.made, merger.shared);
    let edits = merger.all_edits();
    let text = syntax::apply(theirs.text, &edits).map_err(|error| error.to_string())?;
    if let Some(error) = syntax::parse(&text).errors().first() {
        return Err(format!(
            "the result would not be well-formed: {}",
            error.message
        ));
    }
    Ok(Merged {
        text,
        made,
        shared,
        conflicts: merger.conflicts,
    })
}

pub(crate) struct Merger<'a, 't> {
    old: &'a Document<'t>,
    new: &'a Document<'t>,
    own: &'a Document<'t>,
    identities: [Identities<'a>; 3],
    labels: [Labels; 3],
    to_new: Matching,
    to_own: Matching,
    /// Theirs and mine.
    styles: [Style; 2],
    edits: Vec<TextEdit>,
    deleted: Vec<TextRange>,
    /// What is inserted, in its order, by place.
    inserted: BTreeMap<Place, Vec<Id>>,
    /// Old elements that are written anew as I have them.
    anew: BTreeSet<Id>,
    made: usize,
    shared: usize,
    conflicts: Vec<Conflict>,
}

impl Merger<'_, '_> {
    fn merge(&mut self) {
        for old in 1..self.old.nodes.len() {
            if self.old.is_text(old) || self.is_anew(self.old.nodes[old].parent) {
                continue;
            }
            match self.to_own.new_of[old] {
                None => self.removed(old),
                Some(own) if !self.to_own.stays[old] => self.moved(old, own),
                Some(own) if self.in_place(own) => self.changed(old, own),
                // It goes with what it is in.
                Some(_) => {}
            }
        }
        for own in 1..self.own.nodes.len() {
            if !self.own.is_text(own) && self.is_brought(own) {
                self.brought(own);
            }
        }
    }

    /// New in my version, or moved, and not in something that is.
    fn is_brought(&self, own: Id) -> bool {
        self.comes(own) && self.in_place(self.own.nodes[own].parent)
    }

    fn comes(&self, own: Id) -> bool {
        self.to_own.old_of[own].is_none_or(|old| !self.to_own.stays[old])
    }

    /// Nothing that my version's node is in came or moved, or is written anew.
    fn in_place(&self, own: Id) -> bool {
        let taken = |outer: Id| {
            let old = self.to_own.old_of[outer];
            self.comes(outer) || old.is_some_and(|old| self.anew.contains(&old))
        };
        own == TOP || !self.own.way(own).into_iter().any(taken)
    }

    /// Whether an old node is in one that is written anew as I have it, or is one.
    fn is_anew(&self, old: Id) -> bool {
        !self.anew.is_empty()
            && self
                .old
                .way(old)
                .iter()
                .any(|outer| self.anew.contains(outer))
    }

    fn subject(&self, old: Id) -> String {
        self.labels[0].full(self.old, self.identities[0], old)
    }

    fn conflict(
        &mut self,
        subject: String,
        [base, theirs, mine]: [Option<String>; 3],
        new: Option<Id>,
        own: Option<Id>,
    ) {
        self.conflicts.push(Conflict {
            subject,
            base,
            theirs,
            mine,
            place: new.map(|id| self.new.place(id)),
            mine_place: own.map(|id| self.own.place(id)),
        });
    }

    fn written(document: &Document<'_>, id: Id) -> Option<String> {
        Some(document.written(id).to_owned())
    }

    fn is_topmost_removed(&self, old: Id) -> bool {
        self.to_own.new_of[self.old.nodes[old].parent].is_some()
    }

    fn removed(&mut self, old: Id) {
        if !self.is_topmost_removed(old) || matches!(self.old.nodes[old].kind, Kind::Fixed) {
            return;
        }
        let Some(new) = self.to_new.new_of[old] else {
            self.shared += 1;
            return;
        };
        match self.old.nodes[old].meaning == self.new.nodes[new].meaning {
            true => {
                self.delete(new);
                self.made += 1;
            }
            false => {
                let sides = [
                    Self::written(self.old, old),
                    Self::written(self.new, new),
                    None,
                ];
                self.conflict(self.subject(old), sides, Some(new), None);
            }
        }
    }

    /// Taken away here; where it went, `brought` puts it.
    fn moved(&mut self, old: Id, own: Id) {
        if !self.in_place_but_itself(own) && !self.is_outermost_moved(old) {
            return;
        }
        let Some(new) = self.to_new.new_of[old] else {
            let sides = [
                Self::written(self.old, old),
                None,
                Self::written(self.own, own),
            ];
            self.conflict(self.subject(old), sides, None, Some(own));
            return;
        };
        if !self.stays_theirs(old, new) {
            // What is brought by itself is told there.
            if !self.is_brought(own) {
                let sides = [
                    Self::written(self.old, old),
                    Self::written(self.new, new),
                    Self::written(self.own, own),
                ];
                self.conflict(self.subject(old), sides, Some(new), Some(own));
            }
        } else if !self.was_in_removed(old) {
            self.delete(new);
        }
    }

    /// It was in something that I removed. That goes with all that is in it, or stays whole.
    fn was_in_removed(&self, old: Id) -> bool {
        let mut around = self.old.way(old).into_iter();
        around.any(|outer| self.to_own.new_of[outer].is_none())
    }

    /// The author left it where it was, as it was.
    fn stays_theirs(&self, old: Id, new: Id) -> bool {
        self.old.nodes[old].meaning == self.new.nodes[new].meaning && self.to_new.stays[old]
    }

    fn in_place_but_itself(&self, own: Id) -> bool {
        self.in_place(self.own.nodes[own].parent)
    }

    fn is_outermost_moved(&self, old: Id) -> bool {
        let parent = self.old.nodes[old].parent;
        // Its own parent did not take it along.
        let own = self.to_own.new_of[old];
        let with_parent = own.map(|own| self.own.nodes[own].parent);
        self.to_own.new_of[parent] != with_parent
    }

    fn delete(&mut self, new: Id) {
        let range = self.new.nodes[new].range;
        let before = &self.new.text[..usize::from(range.start())];
        let behind = &self.new.text[usize::from(range.end())..];
        let bare = before.trim_end_matches([' ', '\t']);
        // With its line, if it has one of its own; at the end of a line, with the blanks before it.
        let start = match bare.strip_suffix('\n') {
            Some(line) => line.strip_suffix('\r').unwrap_or(line).len(),
            None if bare.ends_with('\r') => bare.len() - 1,
            None if behind.starts_with(['\r', '\n']) => bare.len(),
            None => before.len(),
        };
        self.deleted.push(TextRange::new(
            TextSize::try_from(start).unwrap_or_default(),
            range.end(),
        ));
    }

    fn changed(&mut self, old: Id, own: Id) {
        if self.old.nodes[old].written == self.own.nodes[own].written {
            return;
        }
        let new = self.to_new.new_of[old];
        match self.old.nodes[old].kind {
            Kind::Element(_) => {}
            // What a declaration says of the encoding is true of its own file only.
            Kind::Fixed if self.old.written(old).starts_with("<?") => return,
            _ => return self.remark(old, own, new),
        }
        if let Some(new) = self.is_mixed(old, own, new) {
            let text = self.with_their_lines(self.own.written(own));
            self.edits
                .push(TextEdit::replace(self.new.nodes[new].range, text));
            self.anew.insert(old);
            self.made += 1;
            return;
        }
        self.attributes(old, own, new);
        self.text(old, own, new);
    }

    /// The author's element, if I changed text between elements in mine and the author nothing.
    fn is_mixed(&self, old: Id, own: Id, new: Option<Id>) -> Option<Id> {
        let new = new?;
        let is_same = self.old.nodes[old].written == self.new.nodes[new].written;
        let is_plain = self.old.only_text(old).is_some() && self.own.only_text(own).is_some();
        let differs = self.said(self.old, old) != self.said(self.own, own);
        (is_same && !is_plain && differs).then_some(new)
    }

    fn attributes(&mut self, old: Id, own: Id, new: Option<Id>) {
        let (Some(one), Some(other)) = (self.old.element(old), self.own.element(own)) else {
            return;
        };
        let there = new.and_then(|new| self.new.element(new));
        let names = one.attributes().chain(other.attributes());
        let mut names: Vec<&str> = names.map(|one| one.name()).collect();
        names.sort_unstable();
        names.dedup();
        for name in names {
            let value = |element: syntax::Element<'_>| {
                element.attribute(name).map(|one| one.value().into_owned())
            };
            let (base, mine) = (value(one), value(other));
            if base == mine {
                continue;
            }
            let theirs = there.and_then(value);
            let Some(element) = there else {
                self.conflict(
                    format!("{}, which the author took out: `{name}`", self.subject(old)),
                    [base, None, mine],
                    None,
                    Some(own),
                );
                continue;
            };
            if theirs == mine {
                self.shared += 1;
            } else if theirs == base {
                self.made += 1;
                self.set(element, name, mine.as_deref());
            } else {
                let subject = format!("{}: `{name}`", self.subject(old));
                self.conflict(subject, [base, theirs, mine], new, Some(own));
            }
        }
    }

    fn set(&mut self, element: syntax::Element<'_>, name: &str, value: Option<&str>) {
        let there = element.attribute(name);
        let quote = there
            .and_then(|one| one.quote())
            .unwrap_or(self.styles[0].quote);
        let edit = match (there, value) {
            (Some(there), Some(value)) => TextEdit::replace(
                there.value_range().unwrap_or(there.range()),
                syntax::escape::attribute(value, quote),
            ),
            (Some(there), None) => {
                let before = &self.new.text[..usize::from(there.range().start())];
                let start = TextSize::of(before.trim_end_matches([' ', '\t', '\r', '\n']));
                TextEdit::delete(TextRange::new(start, there.range().end()))
            }
            (None, Some(value)) => {
                let last = element.attributes().last();
                let end = last.map_or(element.name_range().end(), |last| last.range().end());
                let value = syntax::escape::attribute(value, quote);
                TextEdit::insert(end, format!(" {name}={quote}{value}{quote}"))
            }
            (None, None) => return,
        };
        self.edits.push(edit);
    }

    /// What an element says as text, in all versions.
    fn text(&mut self, old: Id, own: Id, new: Option<Id>) {
        let (base, mine) = (self.said(self.old, old), self.said(self.own, own));
        if base == mine {
            return;
        }
        let theirs = new.map(|new| self.said(self.new, new));
        if theirs.as_ref() == Some(&mine) {
            self.shared += 1;
            return;
        }
        let plain = |document: &Document<'_>, id: Id| document.only_text(id).is_some();
        let target = new.and_then(|new| self.new.element(new)?.content_range());
        let source = self.own.element(own).and_then(|own| own.content_range());
        let all_plain = plain(self.old, old)
            && plain(self.own, own)
            && new.is_some_and(|new| plain(self.new, new));
        match (theirs.as_ref() == Some(&base) && all_plain, target) {
            (true, Some(target)) => {
                let text = source.map_or("", |range| self.own.slice(range));
                self.edits
                    .push(TextEdit::replace(target, self.with_their_lines(text)));
                self.made += 1;
            }
            _ => {
                let join = |said: Vec<String>| Some(said.join(" … "));
                let sides = [join(base), theirs.and_then(join), join(mine)];
                let subject = format!("{}: its text", self.subject(old));
                self.conflict(subject, sides, new, Some(own));
            }
        }
    }

    fn said(&self, document: &Document<'_>, id: Id) -> Vec<String> {
        let children = document.nodes[id].children.iter().copied();
        let texts = children
            .filter(|child| matches!(document.nodes[*child].kind, Kind::Text { is_blank: false }));
        texts
            .map(|child| {
                syntax::escape::character_data(document.written(child))
                    .trim()
                    .to_owned()
            })
            .collect()
    }

    fn with_their_lines(&self, text: &str) -> String {
        let plain = syntax::escape::plain_lines(text);
        match self.styles[0].newline {
            "\n" => plain.into_owned(),
            newline => plain.replace('\n', newline),
        }
    }

    fn brought(&mut self, own: Id) {
        if matches!(self.own.nodes[own].kind, Kind::Fixed) {
            return;
        }
        let parent = self.own.nodes[own].parent;
        let Some(old_parent) = self.to_own.old_of[parent] else {
            return;
        };
        let subject = self.labels[2].full(self.own, self.identities[2], own);
        let mine = Self::written(self.own, own);
        let Some(new_parent) = self.to_new.new_of[old_parent] else {
            let subject = format!("{subject}, in something that the author took out");
            return self.conflict(subject, [None, None, mine], None, Some(own));
        };
        if let Some(old) = self.to_own.old_of[own] {
            // Moved: the author's own changes to it must not get lost.
            let Some(new) = self.to_new.new_of[old] else {
                return;
            };
            if !self.stays_theirs(old, new) {
                let sides = [
                    Self::written(self.old, old),
                    Self::written(self.new, new),
                    mine,
                ];
                return self.conflict(subject, sides, Some(new), Some(own));
            }
        } else if let Some(new) = self.same_of_theirs(own, new_parent) {
            if self.new.nodes[new].meaning == self.own.nodes[own].meaning {
                self.shared += 1;
                return;
            }
            let sides = [None, Self::written(self.new, new), mine];
            return self.conflict(subject, sides, Some(new), Some(own));
        }
        if let Some(prefix) = self.other_prefix(own, new_parent) {
            let subject = format!(
                "{subject}: the prefix {} means something else there",
                cut(&prefix)
            );
            return self.conflict(subject, [None, None, mine], Some(new_parent), Some(own));
        }
        let place = self.place(own, new_parent);
        self.inserted.entry(place).or_default().push(own);
        self.made += 1;
    }

    /// What the author added that is the same, or has the same name.
    fn same_of_theirs(&self, own: Id, new_parent: Id) -> Option<Id> {
        let name = self.identities[2].name(self.own, own);
        let tag = self.own.tag(own);
        self.new.markup(new_parent).find(|new| {
            let is_theirs = self.to_new.old_of[*new].is_none();
            let same = self.new.nodes[*new].meaning == self.own.nodes[own].meaning;
            let named = || {
                let other = self.identities[1].name(self.new, *new);
                name.is_some()
                    && name == other
                    && tag
                        .zip(self.new.tag(*new))
                        .is_some_and(|(a, b)| a.is_named_as(b))
            };
            is_theirs && (same || named())
        })
    }

    fn all_edits(&mut self) -> Vec<TextEdit> {
        self.deleted
            .sort_by_key(|range| (range.start(), std::cmp::Reverse(range.end())));
        let mut edits = std::mem::take(&mut self.edits);
        let mut end = TextSize::new(0);
        for range in &self.deleted {
            // What is in something that goes, goes with it.
            if range.start() >= end {
                edits.push(TextEdit::delete(*range));
                end = range.end();
            }
        }
        let inserted = std::mem::take(&mut self.inserted);
        for (place, nodes) in inserted {
            edits.extend(self.insertion(place, &nodes));
        }
        edits.sort_by_key(|edit| (edit.range.start(), edit.range.end()));
        edits
    }
}
