//! Members of `children`: an element with its count, or several that stand for each other.

use super::header::is_name;
use super::section::{Placed, Section};
use crate::grammar::{ChildRule, Choice, Order};
use crate::problem::Problems;
use foldhash::HashSet;
use std::ops::Range;

/// What one member of `children` says.
#[derive(Debug)]
struct Entry {
    rules: Vec<ChildRule>,
    /// The least and the greatest number of them, if they stand for each other.
    choice: Option<Counts>,
}

type Counts = (u32, Option<u32>);

/// What a table lists under `children`, and under `order`.
#[derive(Debug, Default)]
pub(super) struct Listed {
    pub(super) rules: Vec<ChildRule>,
    pub(super) choices: Vec<Choice>,
    pub(super) order: Order,
    /// Where each rule stands.
    pub(super) places: Vec<Range<usize>>,
}

/// Takes `children` and `order` out of a table.
pub(super) fn listed(section: &mut Section<'_>, problems: &mut Problems<'_>) -> Listed {
    let children = section.strings("children", problems);
    let mut listed = Listed::default();
    let mut names = HashSet::default();
    for text in children.into_iter().flat_map(|children| children.value) {
        let Some(entry) = entry(&text, problems) else {
            continue;
        };
        let from = listed.rules.len();
        for rule in entry.rules {
            if !names.insert(rule.name.clone()) {
                let message = format!(
                    "`{}` stands among the children twice; remove one",
                    rule.name
                );
                problems.report(text.place.clone(), message);
                continue;
            }
            listed.places.push(text.place.clone());
            listed.rules.push(rule);
        }
        if let Some((min, max)) = entry.choice {
            let members = from..listed.rules.len();
            listed.choices.push(Choice { members, min, max });
        }
    }
    let orders = [("any", Order::Any), ("listed", Order::Listed)];
    let order = section.choice("order", &orders, problems);
    listed.order = order.unwrap_or_default();
    listed
}

/// `name`, `name?`, `name*`, `name+`, `name{2}`, `name{2,}`, `name{2,4}`; `one | other`, `(one | other)?`
fn entry(text: &Placed<&str>, problems: &mut Problems<'_>) -> Option<Entry> {
    let source = text.value.trim();
    let found = match source.contains('|') {
        true => choice(source),
        false => single(source),
    };
    match found {
        Ok(entry) => {
            let counts = entry.choice.into_iter();
            let counts = counts.chain(entry.rules.iter().map(|rule| (rule.min, rule.max)));
            if counts
                .into_iter()
                .any(|(min, max)| max.is_some_and(|max| max < min))
            {
                let message = format!(
                    "`{source}` asks for at least {} and fewer; swap the numbers",
                    least(&entry)
                );
                problems.report(text.place.clone(), message);
                return None;
            }
            Some(entry)
        }
        Err(message) => {
            problems.report(text.place.clone(), message);
            None
        }
    }
}

/// The least number of an entry in which a greatest one is below its least one.
fn least(entry: &Entry) -> u32 {
    let rules = entry.rules.iter().map(|rule| rule.min);
    rules
        .chain(entry.choice.map(|(min, _)| min))
        .max()
        .unwrap_or(0)
}

fn single(source: &str) -> Result<Entry, String> {
    let (name, count) = cut(source);
    let (Some((min, max)), true) = (counts(count), is_name(name)) else {
        return Err(format!(
            "`{source}` is no child; write `name` (exactly one, without prefix), `name?` (at most one), \
             `name*` (any number), `name+` (at least one), `name{{2,4}}` or `one | other`"
        ));
    };
    let rule = ChildRule {
        name: name.to_owned(),
        min,
        max,
    };
    Ok(Entry {
        rules: vec![rule],
        choice: None,
    })
}

fn choice(source: &str) -> Result<Entry, String> {
    let wrong = || {
        format!(
            "`{source}` is no choice; write `one | other` (exactly one of them), `(one | other)?` (at most one), \
             `(one | other)*` (any number of them) or `(one | other)+` (at least one)"
        )
    };
    let (inner, count) = match source.strip_prefix('(') {
        Some(rest) => rest.rsplit_once(')').ok_or_else(wrong)?,
        None => (source, ""),
    };
    let group = counts(count.trim()).ok_or_else(wrong)?;
    let is_exclusive = group.1 == Some(1);
    let mut rules: Vec<ChildRule> = Vec::new();
    for member in inner.split('|') {
        let (name, count) = cut(member.trim());
        if !is_name(name) {
            return Err(wrong());
        }
        let max = match (is_exclusive, count, counts(count)) {
            (false, "", _) => None,
            (true, _, Some((1, max))) => max,
            (false, _, Some((0, max))) => max,
            (true, ..) => {
                return Err(format!(
                    "in `{source}` write `{name}` or, if it may come several times, `{name}+`; \
                     if none of them need be there, put `?` behind: `(…)?`"
                ));
            }
            (false, ..) => {
                return Err(format!(
                    "in `{source}` write `{name}` or, if there may be only one, `{name}?`; \
                     how many there must be is said behind the brackets"
                ));
            }
        };
        if rules.iter().any(|known| known.name == name) {
            return Err(format!("`{name}` stands in `{source}` twice; remove one"));
        }
        rules.push(ChildRule {
            name: name.to_owned(),
            min: 0,
            max,
        });
    }
    Ok(Entry {
        rules,
        choice: Some(group),
    })
}

/// A name and the count behind it.
fn cut(source: &str) -> (&str, &str) {
    let end = source.find(['?', '*', '+', '{']).unwrap_or(source.len());
    let (name, count) = source.split_at(end);
    (name.trim(), count)
}

fn counts(count: &str) -> Option<Counts> {
    match count {
        "" => Some((1, Some(1))),
        "?" => Some((0, Some(1))),
        "*" => Some((0, None)),
        "+" => Some((1, None)),
        _ => braces(count),
    }
}

fn braces(count: &str) -> Option<Counts> {
    let inner = count.strip_prefix('{')?.strip_suffix('}')?;
    let number = |text: &str| text.trim().parse::<u32>().ok();
    match inner.split_once(',') {
        None => number(inner).map(|count| (count, Some(count))),
        Some((min, max)) if max.trim().is_empty() => Some((number(min)?, None)),
        Some((min, max)) => Some((number(min)?, Some(number(max)?))),
    }
}
