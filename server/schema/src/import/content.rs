//! What a content model says about each child: how often, and in which order.
//!
//! A dialect has a count for every child, choices among single elements, and either one order or none. So choices among
//! more, and repeated groups, are loosened, never tightened: whatever the model accepts, the dialect accepts.

use std::collections::{HashMap, HashSet, VecDeque};
use std::ops::Range;

use super::components::Name;

/// The elements that a model speaks of.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Content<'a> {
    /// In the order of the model.
    pub(super) children: Vec<Child<'a>>,
    /// Which of them stand for each other: places among the children.
    pub(super) choices: Vec<Choice>,
    /// Whether they must stand in this order.
    pub(super) ordered: bool,
    /// Whether counts and order say just what the model says.
    pub(super) exact: bool,
    /// Whether other elements may stand among them.
    pub(super) open: bool,
}

/// How often an element may stand.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Child<'a> {
    pub(super) name: Name<'a>,
    /// Index of its declaration.
    pub(super) declaration: usize,
    pub(super) min: u32,
    pub(super) max: Option<u32>,
}

/// Children that stand for each other. Their own least counts are 0.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Choice {
    pub(super) members: Range<usize>,
    /// Least number of them.
    pub(super) min: u32,
    /// Greatest number of them: 1 is one sort, as often as its own count allows.
    pub(super) max: Option<u32>,
}

impl<'a> Content<'a> {
    /// Nothing.
    pub(super) fn empty() -> Self {
        Self {
            children: Vec::new(),
            choices: Vec::new(),
            ordered: true,
            exact: true,
            open: false,
        }
    }

    /// Anything else.
    pub(super) fn anything() -> Self {
        Self {
            open: true,
            ..Self::empty()
        }
    }

    /// Exactly one element.
    pub(super) fn element(name: Name<'a>, declaration: usize) -> Self {
        Self {
            children: vec![Child {
                name,
                declaration,
                min: 1,
                max: Some(1),
            }],
            ..Self::empty()
        }
    }

    /// One after the other.
    pub(super) fn sequence(parts: Vec<Content<'a>>) -> Self {
        let mut whole = Self::empty();
        whole.open = parts.iter().any(|part| part.open);
        let mut parts: Vec<Content<'a>> = parts
            .into_iter()
            .filter(|part| !part.children.is_empty())
            .collect();
        if parts.len() == 1
            && let Some(only) = parts.pop()
        {
            return Self {
                open: whole.open,
                ..only
            };
        }
        let mut places: HashMap<Name<'_>, usize> = HashMap::new();
        for part in parts {
            let orderly = part.ordered;
            let end = whole.children.len();
            let is_new = |child: &Child<'a>| !places.contains_key(&child.name);
            if part.children.iter().all(is_new) {
                let choices = part.choices.iter().cloned();
                whole.choices.extend(choices.map(|choice| Choice {
                    members: choice.members.start + end..choice.members.end + end,
                    ..choice
                }));
            } else {
                // What comes twice is counted over both places.
                let again: Vec<usize> = part
                    .children
                    .iter()
                    .filter_map(|child| places.get(&child.name).copied())
                    .collect();
                let before = whole.choices.len();
                whole
                    .choices
                    .retain(|choice| !again.iter().any(|at| choice.members.contains(at)));
                let is_looser = whole.choices.len() < before || !part.choices.is_empty();
                whole.exact &= !is_looser;
                whole.ordered &= !is_looser;
            }
            whole.exact &= part.exact && orderly;
            whole.ordered &= orderly;
            for (at, child) in part.children.into_iter().enumerate() {
                let known = places
                    .get(&child.name)
                    .and_then(|place| Some((*place, whole.children.get_mut(*place)?)));
                match known {
                    Some((place, known)) => {
                        known.min = known.min.saturating_add(child.min);
                        known.max = known.max.zip(child.max).and_then(|(a, b)| a.checked_add(b));
                        // It may go on where the last one ended.
                        let follows = at == 0 && place + 1 == end;
                        whole.ordered &= follows;
                        whole.exact &= follows;
                    }
                    None => {
                        places.insert(child.name, whole.children.len());
                        whole.children.push(child);
                    }
                }
            }
        }
        whole
    }

    /// Each once or not at all, in any order.
    pub(super) fn all(parts: Vec<Content<'a>>) -> Self {
        let several = parts.len() > 1;
        let mut whole = Self::sequence(parts);
        whole.ordered &= !several;
        whole
    }

    /// One of them.
    pub(super) fn choice(mut parts: Vec<Content<'a>>) -> Self {
        if parts.len() < 2 {
            return parts.pop().unwrap_or_else(Self::empty);
        }
        if let Some(choice) = Self::alternatives(&parts) {
            return choice;
        }
        let mut whole = Self::empty();
        let mut places: HashMap<Name<'_>, usize> = HashMap::new();
        let mut seen: Vec<usize> = Vec::new();
        for child in parts.iter().flat_map(|part| &part.children) {
            let place = *places.entry(child.name).or_insert(whole.children.len());
            match whole.children.get_mut(place) {
                Some(known) => {
                    known.min = known.min.min(child.min);
                    known.max = known.max.zip(child.max).map(|(a, b)| a.max(b));
                    seen[place] += 1;
                }
                None => {
                    whole.children.push(child.clone());
                    seen.push(1);
                }
            }
        }
        for (child, seen) in whole.children.iter_mut().zip(&seen) {
            if *seen < parts.len() {
                child.min = 0;
            }
        }
        whole.open = parts.iter().any(|part| part.open);
        whole.exact = whole.children.is_empty();
        let orders: Vec<Vec<usize>> = parts
            .iter()
            .map(|part| {
                part.children
                    .iter()
                    .filter_map(|child| places.get(&child.name).copied())
                    .collect()
            })
            .collect();
        match common_order(whole.children.len(), &orders) {
            Some(order) if parts.iter().all(|part| part.ordered) => {
                whole.children = order
                    .into_iter()
                    .filter_map(|at| whole.children.get(at).cloned())
                    .collect();
            }
            _ => whole.ordered = false,
        }
        whole
    }

    /// One of several single elements, or of choices among such; none of them twice.
    fn alternatives(parts: &[Content<'a>]) -> Option<Self> {
        let mut whole = Self::empty();
        let mut met = HashSet::new();
        let mut min = 1;
        for part in parts {
            let is_choice = match (part.choices.as_slice(), part.children.as_slice()) {
                _ if part.open => false,
                ([], []) => {
                    min = 0;
                    true
                }
                ([], [only]) => {
                    min = min.min(only.min);
                    only.min < 2
                }
                ([only], children) => {
                    min = min.min(only.min);
                    only.members == (0..children.len()) && only.max == Some(1)
                }
                _ => false,
            };
            if !is_choice {
                return None;
            }
            whole.exact &= part.exact;
            for child in &part.children {
                if !met.insert(child.name) {
                    return None;
                }
                whole.children.push(Child {
                    min: 0,
                    ..child.clone()
                });
            }
        }
        if whole.children.len() < 2 {
            return None;
        }
        whole.choices.push(Choice {
            members: 0..whole.children.len(),
            min,
            max: Some(1),
        });
        Some(whole)
    }

    /// A choice, as a whole, several times.
    fn choice_again(mut self, min: u32, max: Option<u32>) -> Self {
        let Some(choice) = self.choices.first_mut() else {
            return self;
        };
        let is_single = self.children.iter().all(|child| child.max == Some(1));
        self.exact &= is_single && choice.min == 1 || max.is_none() && min <= 1;
        choice.min = choice.min.saturating_mul(min);
        // Each may come as often as the choice is made; how often it comes each time is lost.
        choice.max = max.filter(|_| is_single);
        let is_optional = choice.max == Some(1);
        for child in &mut self.children {
            child.max = child.max.filter(|_| is_optional);
        }
        self
    }

    /// The same several times.
    pub(super) fn repeated(mut self, min: u32, max: Option<u32>) -> Self {
        if max == Some(0) {
            return Self::empty();
        }
        if (min, max) == (1, Some(1)) {
            return self;
        }
        if let [only] = self.choices.as_slice()
            && only.members == (0..self.children.len())
            && only.max == Some(1)
            && !self.open
        {
            return self.choice_again(min, max);
        }
        if !self.choices.is_empty() {
            let optional = max == Some(1) && self.choices.iter().all(|choice| choice.min == 0);
            self.exact &= optional;
            match max {
                Some(1) => self.choices.iter_mut().for_each(|choice| choice.min = 0),
                _ => self.choices.clear(),
            }
        }
        let several = self.children.len() > 1;
        let again = max.is_none_or(|max| max > 1);
        self.exact = match self.children.as_slice() {
            [] => true,
            [only] => self.exact && (again, only.min, only.max).fits_repetition(min),
            _ if again => false,
            children => self.exact && children.iter().all(|child| child.min == 0),
        };
        for child in &mut self.children {
            child.min = child.min.saturating_mul(min);
            child.max = child.max.zip(max).and_then(|(a, b)| a.checked_mul(b));
        }
        self.ordered &= !(several && again);
        self
    }

    /// Where anything may stand besides, nothing is certain about counts and order.
    pub(super) fn settled(mut self) -> Self {
        if self.open && !self.children.is_empty() {
            self.exact = false;
            self.ordered = false;
            self.choices.clear();
            for child in &mut self.children {
                child.max = None;
            }
        }
        self.ordered |= self.children.len() < 2;
        if let [only] = self.choices.as_slice()
            && only.members == (0..self.children.len())
        {
            // There is nothing else that they could stand before.
            self.ordered = false;
            if (only.min, only.max) == (0, None) {
                self.choices.clear();
            }
        }
        self
    }
}

trait FitsRepetition {
    /// Whether all counts between the product of the least and that of the greatest can come up.
    fn fits_repetition(&self, outer_min: u32) -> bool;
}

impl FitsRepetition for (bool, u32, Option<u32>) {
    fn fits_repetition(&self, outer_min: u32) -> bool {
        let (again, min, max) = *self;
        match again {
            true => min <= 1,
            false => min <= 1 || outer_min == 1 || max.is_none() && min == 0,
        }
    }
}

/// An order of the numbers below `count` that all of these orders agree with (Kahn, 1962); those that nothing
/// decides stay as they are.
fn common_order(count: usize, orders: &[Vec<usize>]) -> Option<Vec<usize>> {
    let mut after: Vec<Vec<usize>> = vec![Vec::new(); count];
    let mut before = vec![0_usize; count];
    for order in orders {
        for pair in order.windows(2) {
            let [one, next] = *pair else { continue };
            after.get_mut(one)?.push(next);
            *before.get_mut(next)? += 1;
        }
    }
    let mut free: VecDeque<usize> = (0..count)
        .filter(|at| before.get(*at) == Some(&0))
        .collect();
    let mut order = Vec::with_capacity(count);
    while let Some(next) = free.pop_front() {
        order.push(next);
        for follower in after.get(next)? {
            let waits = before.get_mut(*follower)?;
            *waits -= 1;
            if *waits == 0 {
                free.push_back(*follower);
            }
        }
    }
    (order.len() == count).then_some(order)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(name: &str) -> Content<'_> {
        let namespace = None;
        Content::element(
            Name {
                namespace,
                local: name,
            },
            0,
        )
    }

    fn shown(content: Content<'_>) -> String {
        let content = content.settled();
        let children = content.children.iter().map(|child| {
            let max = child.max.map_or("∞".to_owned(), |max| max.to_string());
            format!("{} {}..{max}", child.name.local, child.min)
        });
        let choices = content.choices.iter().map(|choice| {
            let max = choice.max.map_or("∞".to_owned(), |max| max.to_string());
            format!(" [{:?} {}..{max}]", choice.members, choice.min)
        });
        let choices: String = choices.collect();
        let order = if content.ordered { "listed" } else { "any" };
        let exact = if content.exact { "exact" } else { "looser" };
        format!(
            "{}{choices}; {order}, {exact}",
            children.collect::<Vec<_>>().join(", ")
        )
    }

    #[test]
    fn sequences_keep_their_order() {
        let model = Content::sequence(vec![one("a"), one("b").repeated(0, None)]);
        assert_eq!(shown(model), "a 1..1, b 0..∞; listed, exact");
        let twice = Content::sequence(vec![one("a"), one("a").repeated(0, Some(1)), one("b")]);
        assert_eq!(shown(twice), "a 1..2, b 1..1; listed, exact");
        let back = Content::sequence(vec![one("a"), one("b"), one("a")]);
        assert_eq!(shown(back), "a 2..2, b 1..1; any, looser");
    }

    #[test]
    fn choices_among_elements_are_choices() {
        let model = Content::choice(vec![one("a"), one("b")]);
        assert_eq!(
            shown(model.clone()),
            "a 0..1, b 0..1 [0..2 1..1]; any, exact"
        );
        assert_eq!(
            shown(model.clone().repeated(0, Some(1))),
            "a 0..1, b 0..1 [0..2 0..1]; any, exact"
        );
        let any = model.clone().repeated(0, None);
        assert_eq!(shown(any.clone()), "a 0..∞, b 0..∞; any, exact");
        assert_eq!(
            shown(model.clone().repeated(1, None)),
            "a 0..∞, b 0..∞ [0..2 1..∞]; any, exact"
        );
        let nested = Content::choice(vec![model.clone(), one("c").repeated(1, None)]);
        assert_eq!(
            shown(nested),
            "a 0..1, b 0..1, c 0..∞ [0..3 1..1]; any, exact"
        );
        let between = Content::sequence(vec![one("x"), any, one("y")]);
        assert_eq!(
            shown(between),
            "x 1..1, a 0..∞, b 0..∞, y 1..1 [1..3 0..∞]; listed, exact"
        );
        let again = Content::sequence(vec![model, one("b")]);
        assert_eq!(shown(again), "a 0..1, b 1..2; any, looser");
    }

    #[test]
    fn choices_among_more_make_everything_optional() {
        let shared = Content::choice(vec![
            Content::sequence(vec![one("b"), one("c")]),
            Content::sequence(vec![one("a"), one("b")]),
        ]);
        assert_eq!(shown(shared), "a 0..1, b 1..1, c 0..1; listed, looser");
        let contrary = Content::choice(vec![
            Content::sequence(vec![one("b"), one("a")]),
            Content::sequence(vec![one("a"), one("b")]),
        ]);
        assert_eq!(shown(contrary), "b 1..1, a 1..1; any, looser");
    }

    #[test]
    fn repeated_groups_lose_their_order() {
        let pair = Content::sequence(vec![one("a"), one("b")]);
        assert_eq!(
            shown(pair.clone().repeated(0, Some(1))),
            "a 0..1, b 0..1; listed, looser"
        );
        assert_eq!(
            shown(pair.repeated(2, Some(3))),
            "a 2..3, b 2..3; any, looser"
        );
        assert_eq!(
            shown(one("a").repeated(2, Some(3)).repeated(0, None)),
            "a 0..∞; listed, looser"
        );
    }

    #[test]
    fn every_order_of_all_is_exact() {
        let model = Content::all(vec![one("a"), one("b").repeated(0, Some(1))]);
        assert_eq!(shown(model), "a 1..1, b 0..1; any, exact");
    }

    #[test]
    fn wildcards_open_everything() {
        let model = Content::sequence(vec![one("a"), Content::anything()]);
        assert_eq!(shown(model), "a 1..∞; listed, looser");
    }
}
