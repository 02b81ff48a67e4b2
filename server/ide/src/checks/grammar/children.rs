//! Children: those that may not stand here, those that are too many or missing, and their order.

use foldhash::HashMap;

use dialect::{Choice, ElementDecl, Order};
use machine::Located;
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
        if declared.open || declared.child(element.local_name()).is_some() {
            return true;
        }
        self.unread.push(element.range());
        let nameless =
            element.local_name().is_empty() || self.broken.is_garbled(element.range().start());
        // In an element that was never closed stands what should stand behind it.
        let is_closed = parent.end_tag().is_some() || parent.is_self_closing();
        if is_closed && !nameless {
            self.tell(element, |check| {
                check.unknown_element(parent, declared, element)
            });
        }
        false
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
        let meant = suggest::of_few(name, names.len(), names.clone());
        let homes: Vec<&str> = self.homes(name);
        let hint = match (&meant, homes.as_slice()) {
            (Some(meant), _) => format!(" Did you mean `<{}>`?", meant.word),
            (None, []) if declared.children.is_empty() => {
                format!(" `<{}>` holds no elements.", short(parent.name()))
            }
            (None, []) => format!(
                " It can hold {}.",
                one_of(&names.map(|name| format!("<{name}>")).collect::<Vec<_>>())
            ),
            (None, homes) => format!(
                " It belongs in {}.",
                one_of(
                    &homes
                        .iter()
                        .map(|name| format!("<{name}>"))
                        .collect::<Vec<_>>()
                )
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
            Some(meant) => finding.fix(rename_element(element, meant.word, meant.trust)),
            None => finding,
        }
    }

    /// The names of elements that may hold an element of this name.
    fn homes(&self, name: &str) -> Vec<&str> {
        let elements = self.site.dialect.elements();
        if elements.len() > suggest::FEW {
            return Vec::new();
        }
        let elements = elements.iter();
        let mut homes: Vec<&str> = elements
            .filter(|element| element.child(name).is_some())
            .map(|element| element.name.as_str())
            .collect();
        homes.dedup();
        homes
    }

    pub(in super::super) fn order(&mut self, declared: &ElementDecl, known: &[Located<'v>]) {
        if declared.order != Order::Listed {
            return;
        }
        let rank = |child: &Located<'v>| {
            let name = child.element.local_name();
            let rule = declared.children.iter().position(|rule| rule.name == name);
            rule.map(|rule| declared.rank(rule))
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
        let mut by_name: HashMap<&str, Vec<Element<'v>>> = HashMap::default();
        for child in known {
            by_name
                .entry(child.element.local_name())
                .or_default()
                .push(child.element);
        }
        let is_closed = element.end_tag().is_some() || element.is_self_closing();
        for choice in &declared.choices {
            self.choice(element, declared, choice, known, is_closed && !some_unknown);
        }
        for rule in &declared.children {
            let found = by_name
                .get(rule.name.as_str())
                .map_or(&[][..], Vec::as_slice);
            let max = rule.max.map_or(usize::MAX, |max| max as usize);
            for extra in found.iter().skip(max) {
                self.tell(*extra, |_| {
                    let holder = short(element.name());
                    let message = match max {
                        1 => format!(
                            "There is a `<{}>` already: `<{holder}>` holds only one.",
                            rule.name,
                        ),
                        _ => format!("`<{holder}>` holds at most {max} `<{}>`.", rule.name),
                    };
                    let mut finding = codes::TOO_MANY.at(extra.name_range(), message);
                    if let Some(first) = found.first().filter(|_| max > 0) {
                        finding = finding.see(first.name_range(), "the first one");
                    }
                    learnt::by_element(finding, declared)
                });
            }
            // What is unknown may be what is missing, misspelled.
            if found.len() < rule.min as usize && is_closed && !some_unknown {
                let message = match (rule.min, found.len()) {
                    (1, _) => format!("`<{}>` needs a `<{}>` inside.", element.name(), rule.name),
                    (min, 0) => format!(
                        "`<{}>` needs {min} `<{}>` inside, there is none.",
                        element.name(),
                        rule.name
                    ),
                    (min, found) => format!(
                        "`<{}>` needs {min} `<{}>` inside, but there {} {found}.",
                        element.name(),
                        rule.name,
                        if found == 1 { "is" } else { "are" }
                    ),
                };
                self.findings.push(learnt::by_element(
                    codes::MISSING_CHILD.at(element.name_range(), message),
                    declared,
                ));
            }
        }
    }
    /// Whether there are neither too few nor too many of the children that stand for each other.
    fn choice(
        &mut self,
        element: Element<'v>,
        declared: &ElementDecl,
        choice: &Choice,
        known: &[Located<'v>],
        is_whole: bool,
    ) {
        let names: Vec<&str> = declared
            .members(choice)
            .iter()
            .map(|rule| rule.name.as_str())
            .collect();
        let is_member = |child: &Element<'v>| names.contains(&child.local_name());
        let there: Vec<Element<'v>> = known
            .iter()
            .map(|child| child.element)
            .filter(is_member)
            .collect();
        let sorts = one_of(
            &names
                .iter()
                .map(|name| format!("<{name}>"))
                .collect::<Vec<_>>(),
        );
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
                        "There is a `<{}>` already: `<{holder}>` holds only one of {sorts}.",
                        first.local_name(),
                    ),
                    (max, _) => format!(
                        "`<{holder}>` holds at most {} of {sorts}.",
                        max.unwrap_or_default()
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

/// What there is among the children of an element, or among some of them: enough to see whether their order and
/// their numbers are right.
#[derive(Debug, Clone, Default, PartialEq)]
pub(in super::super) struct Among {
    /// By declared child: how many there are.
    counts: Vec<u32>,
    /// The smallest and the greatest place in the declared order.
    ranks: Option<(usize, usize)>,
    is_in_order: bool,
    /// Some are not declared, or may not be what they seem.
    some_unknown: bool,
}

impl Among {
    pub(in super::super) fn of(
        declared: &ElementDecl,
        known: &[Located<'_>],
        some_unknown: bool,
    ) -> Self {
        let mut among = Self {
            counts: vec![0; declared.children.len()],
            ranks: None,
            is_in_order: true,
            some_unknown,
        };
        let mut last = 0;
        for child in known {
            let name = child.element.local_name();
            let rule = declared.children.iter().position(|rule| rule.name == name);
            let Some(rule) = rule else { continue };
            among.counts[rule] += 1;
            let rank = declared.rank(rule);
            among.is_in_order &= last <= rank;
            last = rank;
            let (least, greatest) = among.ranks.unwrap_or((rank, rank));
            among.ranks = Some((least.min(rank), greatest.max(rank)));
        }
        among
    }

    /// These and then the others.
    pub(in super::super) fn and(mut self, other: &Self) -> Self {
        self.is_in_order &= other.is_in_order;
        self.some_unknown |= other.some_unknown;
        if self.counts.len() < other.counts.len() {
            self.counts.resize(other.counts.len(), 0);
        }
        for (count, more) in self.counts.iter_mut().zip(&other.counts) {
            *count = count.saturating_add(*more);
        }
        self.ranks = match (self.ranks, other.ranks) {
            (Some((least, greatest)), Some((other_least, other_greatest))) => {
                self.is_in_order &= greatest <= other_least;
                Some((least.min(other_least), greatest.max(other_greatest)))
            }
            (ranks, None) | (None, ranks) => ranks,
        };
        self
    }

    /// Whether order and numbers are as declared, and nobody has to look closer.
    pub(in super::super) fn is_right(&self, declared: &ElementDecl) -> bool {
        let in_order = declared.order != Order::Listed || self.is_in_order;
        let rules = declared.children.iter().enumerate();
        let mut counts = rules.map(|(at, rule)| (rule, self.counts.get(at).copied().unwrap_or(0)));
        let fits = counts
            .all(|(rule, count)| count >= rule.min && rule.max.is_none_or(|max| count <= max));
        let mut choices = declared.choices.iter();
        in_order && fits && choices.all(|choice| choice.is_met(&self.counts))
    }

    pub(in super::super) fn some_unknown(&self) -> bool {
        self.some_unknown
    }
}

/// Renames both tags, and keeps the prefix.
pub(super) fn rename_element(element: Element<'_>, name: &str, trust: Trust) -> Fix {
    let written = match element.prefix() {
        Some(prefix) => format!("{prefix}:{name}"),
        None => name.to_owned(),
    };
    let mut edits = vec![TextEdit::replace(element.name_range(), &*written)];
    if let Some(end) = element.end_tag().filter(|end| end.name() == element.name()) {
        edits.push(TextEdit::replace(end.name_range(), &*written));
    }
    Fix {
        title: format!("Rename to `<{written}>`"),
        trust,
        edits,
    }
}
