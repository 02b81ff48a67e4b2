//! What changed, in words of machines: which thing came, went, moved, or says something else.

use std::collections::BTreeSet;

use dialect::{Dialect, Quantity};
use syntax::escape::character_data;
use syntax::{TextRange, TextSize};

use crate::Version;
use crate::document::{Document, Id, Kind, TOP};
use crate::identity::Identities;
use crate::labels::{Labels, cut};
use crate::matching::Matching;

/// One change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    pub sort: Sort,
    /// A sentence without its end.
    pub message: String,
    /// What it is about in the old version, in bytes; None: it was not there.
    pub old: Option<TextRange>,
    /// What it is about in the new version, in bytes; None: it is not there any more.
    pub new: Option<TextRange>,
}

/// What sort of change it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sort {
    Added,
    Removed,
    /// It is in another element now.
    Moved,
    /// It has another place among its neighbours.
    Reordered,
    /// It is called otherwise.
    Renamed,
    /// It says something else.
    Changed,
    /// A comment or processing instruction.
    Remark,
    /// Written otherwise, and nothing else: white space, quotes, order of attributes.
    Form,
}

impl Sort {
    /// One word.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::Removed => "removed",
            Self::Moved => "moved",
            Self::Reordered => "reordered",
            Self::Renamed => "renamed",
            Self::Changed => "changed",
            Self::Remark => "remark",
            Self::Form => "form",
        }
    }
}

/// What changed from one version to another, in the order of the new one. Empty only if they are the same, byte for byte.
pub fn changes(old: &Version<'_>, new: &Version<'_>) -> Vec<Change> {
    let (one, other) = (old.document(), new.document());
    let identities = [old, new].map(|version| Identities::new(version.meaning));
    let matching = Matching::of(&one, &other, identities);
    let machines = [old, new].map(|version| {
        let (dialect, kind) = version.meaning?;
        Some(machine::read(version.tree, dialect, kind))
    });
    let mut teller = Teller {
        old: &one,
        new: &other,
        identities,
        matching: &matching,
        labels: [
            Labels::of(machines[0].as_ref()),
            Labels::of(machines[1].as_ref()),
        ],
        places: [places(&one), places(&other)],
        dialect: new.meaning.map(|(dialect, _)| dialect),
        told: BTreeSet::new(),
        found: Vec::new(),
    };
    teller.tell();
    let mut found = teller.found;
    if found.is_empty() && old.text != new.text {
        found.push(Change {
            sort: Sort::Form,
            message: "Only the form differs: white space, line breaks, quotes, or the order of attributes"
                .to_owned(),
            old: Some(one.nodes[TOP].range),
            new: Some(other.nodes[TOP].range),
        });
    }
    found.sort_by_key(|change| change.new.or(change.old).map(|range| range.start()));
    found
}

fn places(document: &Document<'_>) -> Vec<usize> {
    let mut places = vec![0; document.nodes.len()];
    for parent in 0..document.nodes.len() {
        for (at, id) in document.elements(parent).enumerate() {
            places[id] = at + 1;
        }
    }
    places
}

struct Teller<'a, 't> {
    old: &'a Document<'t>,
    new: &'a Document<'t>,
    identities: [Identities<'a>; 2],
    matching: &'a Matching,
    labels: [Labels; 2],
    /// By node: its place among the elements of its parent, from 1.
    places: [Vec<usize>; 2],
    /// Times are told as it writes them.
    dialect: Option<&'a Dialect>,
    /// Starts of old values that were told of already.
    told: BTreeSet<TextSize>,
    found: Vec<Change>,
}

impl Teller<'_, '_> {
    fn tell(&mut self) {
        for old in 0..self.old.nodes.len() {
            match self.matching.new_of[old] {
                Some(new) => self.pair(old, new),
                None => self.gone(old),
            }
        }
        for new in 0..self.new.nodes.len() {
            if self.matching.old_of[new].is_none() {
                self.came(new);
            }
        }
    }

    fn push(&mut self, sort: Sort, message: String, old: Option<Id>, new: Option<Id>) {
        self.found.push(Change {
            sort,
            message,
            old: old.map(|id| self.old.place(id)),
            new: new.map(|id| self.new.place(id)),
        });
    }

    fn gone(&mut self, old: Id) {
        let parent = self.old.nodes[old].parent;
        if self.matching.new_of[parent].is_none() {
            return;
        }
        match &self.old.nodes[old].kind {
            Kind::Element(_) => {
                let message = format!("{} is gone{}", self.label(0, old), self.inside(0, old));
                self.push(Sort::Removed, message, Some(old), None);
            }
            Kind::Comment | Kind::Instruction { .. } | Kind::Fixed => {
                let message = format!("{} is gone", cut(self.old.written(old)));
                self.push(Sort::Remark, message, Some(old), None);
            }
            _ => {}
        }
    }

    fn came(&mut self, new: Id) {
        let parent = self.new.nodes[new].parent;
        if self.matching.old_of[parent].is_none() {
            return;
        }
        match &self.new.nodes[new].kind {
            Kind::Element(_) => {
                let message = format!("{} is new{}", self.label(1, new), self.inside(1, new));
                self.push(Sort::Added, message, None, Some(new));
            }
            Kind::Comment | Kind::Instruction { .. } | Kind::Fixed => {
                let message = format!("{} is new", cut(self.new.written(new)));
                self.push(Sort::Remark, message, None, Some(new));
            }
            _ => {}
        }
    }

    fn label(&self, side: usize, id: Id) -> String {
        let document = [self.old, self.new][side];
        self.labels[side].full(document, self.identities[side], id)
    }

    /// What came or went with an element.
    fn inside(&self, side: usize, id: Id) -> String {
        let document = [self.old, self.new][side];
        let matched = |id: &Id| match side {
            0 => self.matching.new_of[*id].is_some(),
            _ => self.matching.old_of[*id].is_some(),
        };
        let held: Vec<Id> = document.elements(id).collect();
        let moved = held.iter().filter(|id| matched(id)).count();
        match (held.len(), moved, side) {
            (0, ..) => String::new(),
            (all, 0, _) => format!(", with {all} in it"),
            (all, moved, 0) => format!(", and {moved} of {all} in it moved elsewhere"),
            (all, moved, _) => format!(", and {moved} of {all} in it came from elsewhere"),
        }
    }

    fn pair(&mut self, old: Id, new: Id) {
        if self.old.tag(old).is_none() {
            let remark = matches!(
                self.old.nodes[old].kind,
                Kind::Comment | Kind::Instruction { .. } | Kind::Fixed
            );
            if remark && self.old.nodes[old].written != self.new.nodes[new].written {
                let (was, is) = (cut(self.old.written(old)), cut(self.new.written(new)));
                self.push(
                    Sort::Remark,
                    format!("{was} is now {is}"),
                    Some(old),
                    Some(new),
                );
            }
            return;
        }
        if !self.matching.stays[old] {
            self.moved(old, new);
        }
        if self.old.nodes[old].meaning == self.new.nodes[new].meaning {
            return;
        }
        self.renamed(old, new);
        self.times(old, new);
        self.attributes(old, new);
        self.text(old, new);
    }

    fn moved(&mut self, old: Id, new: Id) {
        let (parent, new_parent) = (self.old.nodes[old].parent, self.new.nodes[new].parent);
        let own = self.labels[1].own(self.new, self.identities[1], new);
        if self.matching.new_of[parent] == Some(new_parent) {
            let (from, to) = (self.places[0][old], self.places[1][new]);
            let message = format!("{own} stands in another order: in place {to}, was in {from}");
            self.push(Sort::Reordered, message, Some(old), Some(new));
            return;
        }
        let from = self.labels[0].own(self.old, self.identities[0], parent);
        let to = self.labels[1].own(self.new, self.identities[1], new_parent);
        let message = format!("{own} moved from {from} to {to}");
        self.push(Sort::Moved, message, Some(old), Some(new));
    }

    fn renamed(&mut self, old: Id, new: Id) {
        let (Some(one), Some(other)) = (self.old.element(old), self.new.element(new)) else {
            return;
        };
        if one.name() != other.name() {
            let message = format!("`{}` is now a `{}`", one.name(), other.name());
            self.push(Sort::Renamed, message, Some(old), Some(new));
        }
        let was = self.identities[0].name(self.old, old);
        let is = self.identities[1].name(self.new, new);
        if let (Some(was), Some(is)) = (was, is)
            && was != is
        {
            let own = self.labels[0].own(self.old, self.identities[0], old);
            let message = format!("{own} is now called {}", cut(&is));
            self.push(Sort::Renamed, message, Some(old), Some(new));
            let named = one.attributes().find(|one| one.value() == was);
            let named = named.and_then(|one| one.value_range());
            let child = self.identities[0].child_name(self.old, old);
            let child = child.and_then(|(id, _)| self.old.element(id)?.content_range());
            let named = named.or(child).or_else(|| one.content_range());
            self.told.extend(named.map(|range| range.start()));
        }
    }

    /// The window of a channel, which is written in two places.
    fn times(&mut self, old: Id, new: Id) {
        let windows = [(self.old, old), (self.new, new)];
        let mut windows = windows
            .iter()
            .zip(&self.labels)
            .map(|((document, id), labels)| labels.window(document.nodes[*id].range).cloned());
        let (Some(Some(was)), Some(Some(is))) = (windows.next(), windows.next()) else {
            return;
        };
        let (Some((begin, end)), Some((new_begin, new_end))) = (was.seconds(), is.seconds()) else {
            return;
        };
        let shift = new_begin - begin;
        if (begin, end) == (new_begin, new_end) {
            return;
        }
        let Some(dialect) = self.dialect else { return };
        let time = dialect.notation.units.of(Quantity::Time);
        // Without more than a millionth being lost.
        let written = |seconds| dialect.write_number((time.from_base(seconds) * 1e6).round() / 1e6);
        let unit = time.symbol();
        let [begin, end, new_begin, new_end] = [begin, end, new_begin, new_end].map(written);
        let was_shifted = was
            .seconds()
            .zip(is.seconds())
            .is_some_and(|(was, is)| (is.1 - was.1 - shift).abs() < 1e-9);
        let what = match was_shifted {
            true => format!("times are shifted by {} {unit}", written(shift)),
            false => "times changed".to_owned(),
        };
        let message = format!(
            "{}: its {what}: {new_begin} to {new_end} {unit}, was {begin} to {end} {unit}",
            self.label(1, new)
        );
        self.push(Sort::Changed, message, Some(old), Some(new));
        let written = [was.begin, was.end].into_iter().flatten();
        self.told.extend(written.map(|one| one.range.start()));
    }

    fn is_told(&self, value: TextRange) -> bool {
        self.told
            .range(value.start()..=value.end())
            .next()
            .is_some()
    }

    fn attributes(&mut self, old: Id, new: Id) {
        let (Some(one), Some(other)) = (self.old.element(old), self.new.element(new)) else {
            return;
        };
        let mut said = Vec::new();
        for attribute in one.attributes() {
            let (name, value) = (attribute.name(), attribute.value());
            if attribute
                .value_range()
                .is_some_and(|range| self.is_told(range))
            {
                continue;
            }
            match other.attribute(name) {
                None => said.push(format!("`{name}` is gone (was {})", cut(&value))),
                Some(there) if there.value() != value => {
                    said.push(format!(
                        "`{name}` is {}, was {}",
                        cut(&there.value()),
                        cut(&value)
                    ));
                }
                Some(_) => {}
            }
        }
        for attribute in other.attributes() {
            if one.attribute(attribute.name()).is_none() {
                let (name, value) = (attribute.name(), attribute.value());
                said.push(format!("`{name}` is new: {}", cut(&value)));
            }
        }
        if !said.is_empty() {
            let message = format!("{}: {}", self.label(1, new), said.join("; "));
            self.push(Sort::Changed, message, Some(old), Some(new));
        }
    }

    fn text(&mut self, old: Id, new: Id) {
        let text = |document: &Document<'_>, id: Id| -> Vec<String> {
            let children = document.nodes[id].children.iter();
            children
                .filter(|child| {
                    matches!(document.nodes[**child].kind, Kind::Text { is_blank: false })
                })
                .map(|child| character_data(document.written(*child)).trim().to_owned())
                .collect()
        };
        let (was, is) = (text(self.old, old), text(self.new, new));
        let inner = self.old.element(old).and_then(|one| one.content_range());
        if was == is || inner.is_some_and(|range| self.is_told(range)) {
            return;
        }
        let (was, is) = (was.join(" … "), is.join(" … "));
        let message = format!("{}: {}, was {}", self.label(1, new), cut(&is), cut(&was));
        self.push(Sort::Changed, message, Some(old), Some(new));
    }
}
