//! Taking names out of what is written, and finding out how that is done.

use super::{Affix, Form, Member};
use crate::separators::members;
use std::collections::{BTreeMap, BTreeSet};

/// The marks that may stand between the members of a list.
pub(super) const SEPARATORS: [&str; 4] = [" ", ",", ";", "|"];

impl Form {
    /// The names in a value, as texts. A value that is not written in this form has none.
    pub fn names<'v>(&self, value: &'v str) -> Vec<&'v str> {
        let names = members(value, self.separator.as_deref())
            .into_iter()
            .filter_map(|member| self.member.name(member));
        names.filter(|name| !name.is_empty()).collect()
    }
}

impl Form {
    /// Whether anything may stand before or after a name.
    pub(super) fn cuts(&self) -> bool {
        match &self.member {
            Member::Name { before, after } => {
                matches!(before, Affix::Mark(_)) || matches!(after, Affix::Mark(_))
            }
            Member::Position { .. } => false,
        }
    }
}

impl Member {
    fn name<'v>(&self, member: &'v str) -> Option<&'v str> {
        let Self::Name { before, after } = self else {
            return Some(member);
        };
        let member = match before {
            Affix::Nothing => member,
            Affix::Fixed(text) => member.strip_prefix(text.as_str())?,
            Affix::Mark(mark) => member
                .rsplit_once(mark.as_str())
                .map_or(member, |cut| cut.1),
        };
        match after {
            Affix::Nothing => Some(member),
            Affix::Fixed(text) => member.strip_suffix(text.as_str()),
            Affix::Mark(mark) => Some(member.split_once(mark.as_str()).map_or(member, |cut| cut.0)),
        }
    }
}

/// Longest value that is searched for names, in bytes.
const LONGEST: usize = 4096;

/// Most pieces of a member whose combinations are tried.
const MOST_PIECES: usize = 12;

/// Counts in which forms names were found.
#[derive(Default)]
pub(super) struct Tally {
    /// Per separator, per what stands before and after a name: how often.
    found: BTreeMap<Option<&'static str>, BTreeMap<(String, String), u32>>,
}

impl Tally {
    /// Looks for names in a value.
    pub(super) fn add(&mut self, value: &str, is_name: &dyn Fn(&str) -> bool) {
        if value.len() > LONGEST {
            return;
        }
        for separator in std::iter::once(None).chain(SEPARATORS.map(Some)) {
            let members = members(value, separator);
            if separator.is_some() && members.len() < 2 {
                continue;
            }
            for member in members {
                if let Some((before, after)) = longest(member, is_name) {
                    let around = (before.to_owned(), after.to_owned());
                    let found = self.found.entry(separator).or_default();
                    *found.entry(around).or_default() += 1;
                }
            }
        }
    }

    /// The forms worth a trial, the most frequent first.
    pub(super) fn forms(&self) -> Vec<Form> {
        let mut forms: Vec<(u32, Form)> = Vec::new();
        for (separator, found) in &self.found {
            let separator = separator.map(str::to_owned);
            for (count, member) in covering(found) {
                let separator = separator.clone();
                forms.push((count, Form { separator, member }));
            }
        }
        forms.sort_by_key(|(count, form)| (u32::MAX - count, form.clone()));
        forms.dedup_by(|a, b| a.1 == b.1);
        forms.into_iter().map(|(_, form)| form).take(8).collect()
    }
}

/// What stands before and after the longest name in a member.
fn longest<'v>(member: &'v str, is_name: &dyn Fn(&str) -> bool) -> Option<(&'v str, &'v str)> {
    let inner = |c: char| c.is_alphanumeric() || c == '_';
    // Where a name may begin or end: at each change between letters and marks.
    let mut edges = vec![0];
    let mut chars = member.char_indices().peekable();
    while let Some((_, c)) = chars.next() {
        if let Some((at, next)) = chars.peek()
            && (inner(c) != inner(*next) || !inner(c))
        {
            edges.push(*at);
        }
    }
    edges.push(member.len());
    edges.dedup();
    if edges.len() > MOST_PIECES {
        // The beginning and the end are where names stand in long values.
        let tail = edges.split_off(edges.len() - MOST_PIECES / 2);
        edges.truncate(MOST_PIECES / 2);
        edges.extend(tail);
    }
    let mut best: Option<(usize, usize)> = None;
    for (number, from) in edges.iter().enumerate() {
        for to in &edges[number + 1..] {
            let longer = best.is_none_or(|(f, t)| to - from > t - f);
            if longer && is_name(&member[*from..*to]) {
                best = Some((*from, *to));
            }
        }
    }
    best.map(|(from, to)| (&member[..from], &member[to..]))
}

/// Members that cover what was found, with how much of it.
fn covering(found: &BTreeMap<(String, String), u32>) -> Vec<(u32, Member)> {
    let mut tried: BTreeMap<Member, u32> = BTreeMap::new();
    // What stands before a mark is something of its own only if it is not always the same.
    let mut prefixes: BTreeMap<String, BTreeSet<&str>> = BTreeMap::new();
    for (before, _) in found.keys() {
        if let Some(mark) = mark_before(before) {
            prefixes.entry(mark).or_default().insert(before);
        }
    }
    for ((before, after), count) in found {
        let mut befores = Vec::new();
        if may_precede(before) {
            befores.push(fixed(before));
        }
        if let Some(mark) = mark_before(before).filter(|mark| prefixes[mark].len() > 1) {
            befores.push(Affix::Mark(mark));
        }
        let mut afters = Vec::new();
        if may_follow(after) {
            afters.push(fixed(after));
        }
        if let Some(mark) = mark_after(after) {
            afters.push(Affix::Mark(mark));
        }
        for before in &befores {
            for after in &afters {
                let (before, after) = (before.clone(), after.clone());
                *tried.entry(Member::Name { before, after }).or_default() += count;
            }
        }
    }
    // A mark also covers what has nothing there.
    let bare = found
        .get(&(String::new(), String::new()))
        .copied()
        .unwrap_or(0);
    let mut tried: Vec<(u32, Member)> = tried
        .into_iter()
        .map(|(member, count)| match &member {
            Member::Name { before, after }
                if !matches!(before, Affix::Fixed(_))
                    && !matches!(after, Affix::Fixed(_))
                    && (before, after) != (&Affix::Nothing, &Affix::Nothing) =>
            {
                (count + bare, member)
            }
            _ => (count, member),
        })
        .collect();
    tried.sort_by_key(|(count, member)| (u32::MAX - count, member.clone()));
    tried.truncate(4);
    tried
}

fn fixed(text: &str) -> Affix {
    match text {
        "" => Affix::Nothing,
        text => Affix::Fixed(text.to_owned()),
    }
}

/// Marks that join the words of one name, and so do not part a name from anything else.
const JOINTS: [char; 3] = ['-', '_', ' '];

/// Whether a text may always stand before a name: it ends in a mark, and has no folders. A
/// name that is lengthened by a word is another name.
fn may_precede(text: &str) -> bool {
    let ends = text.chars().next_back();
    ends.is_none_or(|c| !c.is_alphanumeric() && !JOINTS.contains(&c)) && !text.contains('/')
}

/// Whether a text may always stand behind a name.
fn may_follow(text: &str) -> bool {
    !text.contains(char::is_alphanumeric) && !text.contains(JOINTS)
}

/// The marks directly before a name.
fn mark_before(before: &str) -> Option<String> {
    let last = before.chars().next_back().filter(|c| is_mark(*c))?;
    let marks = before.chars().rev().take_while(|c| *c == last);
    Some(marks.collect())
}

/// The marks directly after a name; a mark may be doubled.
fn mark_after(after: &str) -> Option<String> {
    let first = after.chars().next().filter(|c| is_mark(*c))?;
    let marks = after.chars().take_while(|c| *c == first);
    Some(marks.collect())
}

fn is_mark(c: char) -> bool {
    !c.is_alphanumeric() && !c.is_whitespace() && !JOINTS.contains(&c)
}
