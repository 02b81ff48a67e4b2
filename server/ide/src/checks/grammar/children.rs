//! Children: those that may not stand here, those that are too many or missing, and their order.

use std::borrow::Cow;
use std::ops::Range;

use dialect::{ChildRule, Choice, ElementDecl, Order};
use machine::{Located, Reader};
use syntax::{Element, TextEdit};

use super::super::learnt;
use super::super::suggest;
use super::super::values::one_of;
use super::Check;
use crate::finding::short;
use crate::{Finding, Fix, Severity, Trust, codes};

impl<'v> Check<'_, 'v> {
    /// The children that may stand here; the others are reported.
    pub(in super::super) fn known_children(
        &mut self,
        at: &Located<'v>,
        declared: &ElementDecl,
        children: &[Located<'v>],
    ) -> Vec<Located<'v>> {
        let mut known = Vec::with_capacity(children.len());
        for child in children {
            if self.is_known_child(at.element, declared, child) {
                known.push(*child);
            }
        }
        known
    }

    /// Whether a child may stand here; if not, it is reported.
    fn is_known_child(
        &mut self,
        parent: Element<'v>,
        declared: &ElementDecl,
        child: &Located<'v>,
    ) -> bool {
        let element = child.element;
        if declared.open || declared.child(child.name()).is_some() {
            return true;
        }
        self.stray(parent, element, |check| {
            check.unknown_element(parent, declared, element)
        });
        false
    }

    /// Reports those of some elements in the last of `chain` that are known there and have lost the prefix that makes them
    /// the document's own. Whether there are any.
    pub(in super::super) fn without_prefix(
        &mut self,
        reader: &Reader<'v>,
        chain: &[Located<'v>],
        declared: &ElementDecl,
        elements: impl Iterator<Item = Element<'v>>,
    ) -> bool {
        let Some(parent) = chain.last().filter(|parent| !parent.default_is_ours()) else {
            return false;
        };
        let mut are_there = false;
        for element in elements {
            let is_known = declared.child(element.local_name()).is_some();
            let prefix = is_known.then(|| reader.forgotten_prefix(chain, element));
            if let Some(prefix) = prefix.flatten() {
                are_there = true;
                self.stray(parent.element, element, |_| {
                    lacks_prefix(element, prefix, declared)
                });
            }
        }
        are_there
    }

    /// An element that may not stand where it does, as it is: what it holds is not looked into.
    fn stray(
        &mut self,
        parent: Element<'v>,
        element: Element<'v>,
        make: impl FnOnce(&Self) -> Finding,
    ) {
        self.unread.push(element.range());
        let nameless =
            element.local_name().is_empty() || self.broken.is_garbled(element.range().start());
        // In an element that was never closed stands what should stand behind it.
        let is_closed = parent.end_tag().is_some() || parent.is_self_closing();
        if is_closed && !nameless {
            self.tell(element, make);
        }
    }

    /// Makes a finding about an element, if it is wanted.
    fn tell(&mut self, element: Element<'v>, make: impl FnOnce(&Self) -> Finding) {
        let start = element.range().start();
        if self.findings.wants(Severity::Error, start) {
            let finding = make(self);
            self.findings.push(finding);
        }
    }

    fn unknown_element(
        &self,
        parent: Element<'v>,
        declared: &ElementDecl,
        element: Element<'v>,
    ) -> Finding {
        let name = element.local_name();
        let names = declared.children.iter().map(|rule| rule.name.as_str());
        let homes = self.homes(name);
        // A word of its own is hardly a slip of the pen, least of all for what holds it.
        let is_word = homes.as_ref().is_none_or(|homes| !homes.is_empty());
        let mut homes = homes.unwrap_or_default();
        let meant = suggest::of_few(name, names.len(), names);
        let meant = meant.filter(|meant| !homes.contains(&meant.word));
        // A root of another name is read as the one that it should be. (Its prefix may be as long as the document.)
        let is_parent = |home: &str| {
            let prefix = parent.name().strip_suffix(home);
            prefix.is_some_and(|prefix| prefix.is_empty() || prefix.ends_with(':'))
        };
        homes.retain(|home| !is_parent(home));
        let hint = match (&meant, homes.as_slice()) {
            (Some(meant), _) => format!(" Did you mean `<{}>`?", beside(element, meant.word)),
            (None, []) if declared.children.is_empty() => {
                format!(" `<{}>` holds no elements.", short(parent.name()))
            }
            (None, []) => format!(" It can hold {}.", tags(parent, &declared.children)),
            (None, homes) => format!(
                " It belongs in {}.",
                all_written(parent, homes.iter().copied())
            ),
        };
        let message = format!(
            "`<{}>` may not stand in `<{}>`.{hint}",
            element.name(),
            short(parent.name())
        );
        let finding = learnt::by_element(
            codes::UNKNOWN_ELEMENT.at(element.name_range(), message),
            declared,
        );
        match meant {
            Some(meant) => {
                let trust = if is_word { Trust::Review } else { meant.trust };
                finding.fix(rename_element(element, &beside(element, meant.word), trust))
            }
            None => finding,
        }
    }

    /// The names of elements that may hold an element of this name; nobody looks for them among too many.
    fn homes(&self, name: &str) -> Option<Vec<&str>> {
        let elements = self.site.dialect.elements();
        if elements.len() > suggest::FEW {
            return None;
        }
        let elements = elements.iter();
        let mut homes: Vec<&str> = elements
            .filter(|element| element.child(name).is_some())
            .map(|element| element.name.as_str())
            .collect();
        homes.dedup();
        Some(homes)
    }

    pub(in super::super) fn order(&mut self, declared: &ElementDecl, known: &[Located<'v>]) {
        if declared.order != Order::Listed {
            return;
        }
        let rank = |child: &Located<'v>| {
            let rule = declared.children.place_of(child.name())?;
            Some(declared.rank(rule))
        };
        let mut furthest: Option<(usize, Element<'v>)> = None;
        for child in known {
            let Some(rank) = rank(child) else { continue };
            match furthest {
                Some((before, element)) if rank < before => self.tell(child.element, |_| {
                    let message = format!(
                        "`<{}>` must stand before `<{}>`.",
                        child.element.name(),
                        short(element.name())
                    );
                    let finding = codes::WRONG_ORDER
                        .at(child.element.name_range(), message)
                        .see(element.name_range(), "before this one");
                    learnt::by_element(finding, declared)
                }),
                _ => furthest = Some((rank, child.element)),
            }
        }
    }

    /// Reports children that are too many or too few.
    pub(in super::super) fn counts(
        &mut self,
        element: Element<'v>,
        declared: &ElementDecl,
        known: &[Located<'v>],
        some_unknown: bool,
    ) {
        if declared.children.is_empty() {
            return;
        }
        let by_rule = by_rule(declared, known);
        let is_closed = element.end_tag().is_some() || element.is_self_closing();
        let is_whole = is_closed && !some_unknown;
        for choice in &declared.choices {
            self.choice(element, declared, choice, &by_rule, is_whole);
        }
        for found in by_rule.chunk_by(|one, next| one.0 == next.0) {
            self.too_many(element, declared, &declared.children[found[0].0], found);
        }
        if !is_whole {
            // What is unknown may be what is missing, misspelled.
            return;
        }
        for (at, rule) in declared.children.required() {
            let count = of_rules(&by_rule, at..at + 1).len();
            self.too_few(element, declared, rule, count);
        }
    }

    /// Reports the children that are more than a rule allows. `found`: all those that follow the rule.
    fn too_many(
        &mut self,
        element: Element<'v>,
        declared: &ElementDecl,
        rule: &ChildRule,
        found: &[(usize, Element<'v>)],
    ) {
        let Some(max) = rule.max.map(|max| max as usize) else {
            return;
        };
        for (_, extra) in found.iter().skip(max) {
            self.tell(*extra, |_| {
                let (holder, name) = (short(element.name()), written(element, &rule.name));
                let message = match max {
                    1 => format!("There is a `<{name}>` already: `<{holder}>` holds only one."),
                    _ => format!("`<{holder}>` holds at most {max} `<{name}>`."),
                };
                let mut finding = codes::TOO_MANY.at(extra.name_range(), message);
                if let Some((_, first)) = found.first().filter(|_| max > 0) {
                    finding = finding.see(first.name_range(), "the first one");
                }
                learnt::by_element(finding, declared)
            });
        }
    }

    /// Reports that `count` children follow a rule that asks for more.
    fn too_few(
        &mut self,
        element: Element<'v>,
        declared: &ElementDecl,
        rule: &ChildRule,
        count: usize,
    ) {
        if count >= rule.min as usize {
            return;
        }
        let (holder, name) = (element.name(), written(element, &rule.name));
        let message = match (rule.min, count) {
            (1, _) => format!("`<{holder}>` needs a `<{name}>` inside."),
            (min, 0) => format!("`<{holder}>` needs {min} `<{name}>` inside, there is none."),
            (min, count) => format!(
                "`<{holder}>` needs {min} `<{name}>` inside, but there {} {count}.",
                if count == 1 { "is" } else { "are" }
            ),
        };
        let finding = codes::MISSING_CHILD.at(element.name_range(), message);
        self.findings.push(learnt::by_element(finding, declared));
    }

    /// Whether there are neither too few nor too many of the children that stand for each other.
    fn choice(
        &mut self,
        element: Element<'v>,
        declared: &ElementDecl,
        choice: &Choice,
        by_rule: &[(usize, Element<'v>)],
        is_whole: bool,
    ) {
        let members = of_rules(by_rule, choice.members.clone());
        let mut there: Vec<Element<'v>> = members.iter().map(|(_, child)| *child).collect();
        there.sort_by_key(|child| child.range().start());
        let sorts = || tags(element, declared.members(choice));
        let is_too_many = |at: usize, child: &Element<'v>| match choice.is_exclusive() {
            true => there
                .first()
                .is_some_and(|first| first.local_name() != child.local_name()),
            false => choice.max.is_some_and(|max| at >= max as usize),
        };
        for (at, extra) in there.iter().enumerate() {
            if !is_too_many(at, extra) {
                continue;
            }
            self.tell(*extra, |_| {
                let holder = short(element.name());
                let message = match (choice.max, there.first()) {
                    (Some(1), Some(first)) => format!(
                        "There is a `<{}>` already: `<{holder}>` holds only one of {}.",
                        short(first.name()),
                        sorts(),
                    ),
                    (max, _) => format!(
                        "`<{holder}>` holds at most {} of {}.",
                        max.unwrap_or_default(),
                        sorts()
                    ),
                };
                let mut finding = codes::TOO_MANY.at(extra.name_range(), message);
                if let Some(first) = there.first() {
                    finding = finding.see(first.name_range(), "the first one");
                }
                learnt::by_element(finding, declared)
            });
        }
        let count = there.len().min(match choice.is_exclusive() {
            true => 1,
            false => usize::MAX,
        });
        if is_whole && count < choice.min as usize {
            let sorts = sorts();
            let message = match (choice.min, count) {
                (1, _) => format!("`<{}>` needs one of {sorts} inside.", element.name()),
                (min, count) => format!(
                    "`<{}>` needs {min} of {sorts} inside, but there {} {count}.",
                    element.name(),
                    if count == 1 { "is" } else { "are" }
                ),
            };
            let finding = codes::MISSING_CHILD.at(element.name_range(), message);
            self.findings.push(learnt::by_element(finding, declared));
        }
    }
}

/// Children that are declared, each with the index of its rule: by rule, and those of one rule as they stand.
fn by_rule<'v>(declared: &ElementDecl, known: &[Located<'v>]) -> Vec<(usize, Element<'v>)> {
    let with_rule = |child: &Located<'v>| {
        let rule = declared.children.place_of(child.name())?;
        Some((rule, child.element))
    };
    let mut by_rule: Vec<_> = known.iter().filter_map(with_rule).collect();
    by_rule.sort_by_key(|(rule, _)| *rule);
    by_rule
}

/// Those of some rules that are neighbours.
fn of_rules<'c, 'v>(
    by_rule: &'c [(usize, Element<'v>)],
    rules: Range<usize>,
) -> &'c [(usize, Element<'v>)] {
    let before = |end: usize| by_rule.partition_point(|(rule, _)| *rule < end);
    &by_rule[before(rules.start)..before(rules.end)]
}

/// The first of some elements that a holder may have, for a message.
fn tags(holder: Element<'_>, rules: &[ChildRule]) -> String {
    all_written(holder, rules.iter().map(|rule| rule.name.as_str()))
}

fn all_written<'n>(holder: Element<'_>, names: impl ExactSizeIterator<Item = &'n str>) -> String {
    let prefix = prefix(holder);
    one_of(names.map(|name| format!("<{prefix}{name}>")))
}

/// The name of an element as it is written in a holder, for a message: with the holder's prefix.
fn written(holder: Element<'_>, name: &str) -> String {
    prefix(holder) + name
}

/// The prefix of a declared element and its colon, if it has one. Of a very long name the end is not looked for: what is
/// declared is not so long.
fn prefix(holder: Element<'_>) -> String {
    let name = short(holder.name());
    match (name.split_once(':'), &name) {
        (Some((prefix, _)), _) => format!("{prefix}:"),
        (None, Cow::Owned(cut)) => format!("{cut}:"),
        (None, Cow::Borrowed(_)) => String::new(),
    }
}

/// What there is among some of the children of an element: enough to see, with the others, whether their order and
/// their numbers are right.
#[derive(Debug, Clone, PartialEq)]
pub(in super::super) struct Among {
    /// The rules that some follow, by their indices, with how many these are. Of many that are declared few are met.
    counts: Vec<(u32, u32)>,
    /// The smallest and the greatest place in the declared order.
    ranks: Option<(usize, usize)>,
    is_in_order: bool,
    /// Some are not declared, or may not be what they seem.
    some_unknown: bool,
}

impl Default for Among {
    fn default() -> Self {
        Self {
            counts: Vec::new(),
            ranks: None,
            is_in_order: true,
            some_unknown: false,
        }
    }
}

impl Among {
    /// `names`: of those that may stand there, in the order of the text. Where any number of them may, in any order,
    /// nobody need see which there are.
    pub(in super::super) fn of<'n>(
        declared: &ElementDecl,
        names: impl Iterator<Item = &'n str>,
        some_unknown: bool,
    ) -> Self {
        let mut among = Self {
            some_unknown,
            ..Self::default()
        };
        if declared.takes_any_number() {
            return among;
        }
        let names: Vec<&str> = names.collect();
        let mut last = 0;
        // Mostly, many of one name stand one behind the other.
        for same in names.chunk_by(|one, next| one == next) {
            let rule = declared.children.place_of(same[0]);
            let Some(rule) = rule else { continue };
            among.counts.push((rule as u32, same.len() as u32));
            let rank = declared.rank(rule);
            among.is_in_order &= last <= rank;
            last = rank;
            let (least, greatest) = among.ranks.unwrap_or((rank, rank));
            among.ranks = Some((least.min(rank), greatest.max(rank)));
        }
        among.counts.sort_unstable();
        among.counts.dedup_by(|next, one| {
            let is_same = next.0 == one.0;
            one.1 += if is_same { next.1 } else { 0 };
            is_same
        });
        among
    }
}

/// What there is among all children of an element.
#[derive(Debug)]
pub(in super::super) struct Altogether {
    /// By declared child: how many there are.
    counts: Vec<u32>,
    is_in_order: bool,
    some_unknown: bool,
}

impl Altogether {
    /// Puts together what there is in the parts of an element's content, in their order.
    pub(in super::super) fn of<'a>(
        declared: &ElementDecl,
        parts: impl Iterator<Item = &'a Among>,
    ) -> Self {
        let mut all = Self {
            counts: vec![0; declared.children.len()],
            is_in_order: true,
            some_unknown: false,
        };
        let mut last = 0;
        for part in parts {
            all.some_unknown |= part.some_unknown;
            all.is_in_order &= part.is_in_order;
            for (rule, more) in &part.counts {
                if let Some(count) = all.counts.get_mut(*rule as usize) {
                    *count = count.saturating_add(*more);
                }
            }
            if let Some((least, greatest)) = part.ranks {
                all.is_in_order &= last <= least;
                last = last.max(greatest);
            }
        }
        all
    }

    /// Whether order and numbers are as declared, and nobody has to look closer.
    pub(in super::super) fn is_right(&self, declared: &ElementDecl) -> bool {
        let in_order = declared.order != Order::Listed || self.is_in_order;
        in_order && declared.allows(&self.counts)
    }

    pub(in super::super) fn some_unknown(&self) -> bool {
        self.some_unknown
    }
}

fn lacks_prefix(element: Element<'_>, prefix: &str, declared: &ElementDecl) -> Finding {
    let written = format!("{prefix}:{}", element.name());
    let message = format!(
        "`<{}>` is in no namespace, so it means nothing here. Did you mean `<{written}>`?",
        element.name()
    );
    let finding = codes::UNKNOWN_ELEMENT.at(element.name_range(), message);
    learnt::by_element(finding, declared).fix(rename_element(element, &written, Trust::Safe))
}

/// The name of an element as it is written with the prefix of another one.
pub(super) fn beside(element: Element<'_>, name: &str) -> String {
    match element.prefix() {
        Some(prefix) => format!("{prefix}:{name}"),
        None => name.to_owned(),
    }
}

/// Renames both tags. `written`: with its prefix.
pub(super) fn rename_element(element: Element<'_>, written: &str, trust: Trust) -> Fix {
    let mut edits = vec![TextEdit::replace(element.name_range(), written)];
    if let Some(end) = element.end_tag().filter(|end| end.name() == element.name()) {
        edits.push(TextEdit::replace(end.name_range(), written));
    }
    Fix {
        title: format!("Rename to `<{written}>`"),
        trust,
        edits,
    }
}
