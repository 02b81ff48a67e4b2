//! Are the declared entities sound? Their texts are never put into one another: each is looked at once, and what they
//! say about one another follows along the references. So an entity bomb costs no more than its declarations.

use std::collections::HashMap;

use super::declarations::EntityValue;
use crate::parser::{Mention, Parser};
use crate::reference::{self, Reference};

/// What a reference to an entity means.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Verdict {
    /// Why it may not stand in content.
    pub(crate) in_content: Option<Reason>,
    /// Why it may not stand in the value of an attribute.
    pub(crate) in_value: Option<Reason>,
    /// It is declared in terms of itself.
    pub(crate) circular: bool,
}

#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(crate) enum Reason {
    NotWellFormed,
    HoldsLessThan,
    External,
    Unparsed,
    /// It mentions an entity that nobody declares.
    Undeclared,
}

impl Reason {
    /// The end of a sentence that starts with the entity.
    pub(crate) fn as_str(self) -> &'static str {
        match self {
            Reason::NotWellFormed => "has a text that is not well-formed",
            Reason::HoldsLessThan => "has a `<` in its text, which may not come into a value",
            Reason::External => "is in another file, which may not come into a value",
            Reason::Unparsed => "is not XML and may only be named, not referred to",
            Reason::Undeclared => "mentions an entity that is not declared",
        }
    }
}

/// One entity, seen by itself.
struct Seen {
    verdict: Verdict,
    /// The entities that its text mentions, by index, and whether in the value of an attribute.
    mentions: Vec<(usize, bool)>,
    next: usize,
    state: State,
}

#[derive(Copy, Clone, PartialEq, Eq)]
enum State {
    Untouched,
    Open,
    Done,
}

/// The verdict on each general entity. `is_closed`: undeclared names are errors.
pub(crate) fn verdicts(
    entities: &HashMap<String, EntityValue>,
    is_closed: bool,
) -> HashMap<String, Verdict> {
    let names: HashMap<&str, usize> = entities
        .keys()
        .zip(0..)
        .map(|(name, index)| (name.as_str(), index))
        .collect();
    let mut seen: Vec<Seen> = entities
        .values()
        .map(|value| look_at(value, &names, is_closed))
        .collect();
    for index in 0..seen.len() {
        follow(&mut seen, index);
    }
    entities
        .keys()
        .cloned()
        .zip(seen.into_iter().map(|seen| seen.verdict))
        .collect()
}

fn look_at(value: &EntityValue, names: &HashMap<&str, usize>, is_closed: bool) -> Seen {
    let mut verdict = Verdict::default();
    let mut mentions = Vec::new();
    match value {
        EntityValue::External => verdict.in_value = Some(Reason::External),
        EntityValue::Unparsed => {
            verdict.in_content = Some(Reason::Unparsed);
            verdict.in_value = Some(Reason::Unparsed);
        }
        EntityValue::Internal(text) => {
            let (is_well_formed, mentioned) = Parser::new(text).entity_text();
            if !is_well_formed {
                verdict.in_content = Some(Reason::NotWellFormed);
            }
            for Mention { name, in_value } in mentioned {
                match names.get(name.as_str()) {
                    Some(&index) => mentions.push((index, in_value)),
                    None if is_closed => verdict.in_content = Some(Reason::Undeclared),
                    None => {}
                }
            }
            verdict.in_value = fault_in_value(text, names, is_closed);
        }
    }
    mentions.sort_unstable();
    mentions.dedup();
    Seen {
        verdict,
        mentions,
        next: 0,
        state: State::Untouched,
    }
}

/// Why this text by itself may not come into the value of an attribute.
fn fault_in_value(text: &str, names: &HashMap<&str, usize>, is_closed: bool) -> Option<Reason> {
    if text.contains('<') {
        return Some(Reason::HoldsLessThan);
    }
    let mut at = 0;
    while let Some(found) = text[at..].find('&') {
        let (reference, end) = reference::read(text, at + found);
        match reference {
            Reference::Character(_) => {}
            Reference::Entity(name)
                if reference::predefined(name).is_some() || names.contains_key(name) => {}
            Reference::Entity(_) if is_closed => return Some(Reason::Undeclared),
            Reference::Entity(_) => {}
            _ => return Some(Reason::NotWellFormed),
        }
        at = end;
    }
    None
}

/// Follows the mentions depth first, with a stack of its own.
fn follow(seen: &mut [Seen], start: usize) {
    let mut path = vec![start];
    while let Some(&index) = path.last() {
        let entity = &mut seen[index];
        if entity.state == State::Done {
            path.pop();
            continue;
        }
        entity.state = State::Open;
        let Some(&(mentioned, in_value)) = entity.mentions.get(entity.next) else {
            entity.state = State::Done;
            path.pop();
            continue;
        };
        match seen[mentioned].state {
            State::Untouched => path.push(mentioned),
            State::Open => {
                seen[index].verdict.circular = true;
                seen[index].next += 1;
            }
            State::Done => {
                let other = seen[mentioned].verdict.clone();
                let own = &mut seen[index];
                let inherited = if in_value {
                    other.in_value
                } else {
                    other.in_content
                };
                own.verdict.in_content = own.verdict.in_content.or(inherited);
                own.verdict.in_value = own.verdict.in_value.or(other.in_value);
                own.next += 1;
            }
        }
    }
}
