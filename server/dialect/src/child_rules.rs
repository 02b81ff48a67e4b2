//! The children of an element, found by name however many they are.

use crate::grammar::ChildRule;
use foldhash::HashMap;
use std::ops::{Deref, DerefMut};
use std::sync::OnceLock;

/// Which children an element may hold, in the order of the file. Each name stands for one rule.
#[derive(Clone, Debug, Default)]
pub struct ChildRules {
    rules: Vec<ChildRule>,
    /// Made when first asked for, and again after a change.
    lookup: OnceLock<Lookup>,
}

#[derive(Clone, Debug)]
struct Lookup {
    by_name: HashMap<String, usize>,
    /// The rules that ask for one at least.
    required: Vec<usize>,
}

impl ChildRules {
    /// Adds a rule behind the others.
    pub fn push(&mut self, rule: ChildRule) {
        self.lookup.take();
        self.rules.push(rule);
    }

    /// The index of the rule for children of this name. Takes the same time for any number of rules.
    pub fn place_of(&self, name: &str) -> Option<usize> {
        self.lookup().by_name.get(name).copied()
    }

    /// The rules that ask for one child at least, with their indices.
    pub fn required(&self) -> impl Iterator<Item = (usize, &ChildRule)> {
        let places = self.lookup().required.iter();
        places.map(|at| (*at, &self.rules[*at]))
    }

    fn lookup(&self) -> &Lookup {
        self.lookup.get_or_init(|| {
            let rules = || self.rules.iter().enumerate();
            // Of two of one name the first one counts.
            let by_name = rules().rev().map(|(at, rule)| (rule.name.clone(), at));
            let required = rules().filter(|(_, rule)| rule.min > 0);
            Lookup {
                by_name: by_name.collect(),
                required: required.map(|(at, _)| at).collect(),
            }
        })
    }
}

impl PartialEq for ChildRules {
    fn eq(&self, other: &Self) -> bool {
        self.rules == other.rules
    }
}

impl From<Vec<ChildRule>> for ChildRules {
    fn from(rules: Vec<ChildRule>) -> Self {
        Self {
            rules,
            lookup: OnceLock::new(),
        }
    }
}

impl FromIterator<ChildRule> for ChildRules {
    fn from_iter<I: IntoIterator<Item = ChildRule>>(rules: I) -> Self {
        Vec::from_iter(rules).into()
    }
}

impl Deref for ChildRules {
    type Target = [ChildRule];

    fn deref(&self) -> &[ChildRule] {
        &self.rules
    }
}

impl DerefMut for ChildRules {
    fn deref_mut(&mut self) -> &mut [ChildRule] {
        self.lookup.take();
        &mut self.rules
    }
}

impl<'r> IntoIterator for &'r ChildRules {
    type Item = &'r ChildRule;
    type IntoIter = std::slice::Iter<'r, ChildRule>;

    fn into_iter(self) -> Self::IntoIter {
        self.rules.iter()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rule(name: &str, min: u32) -> ChildRule {
        ChildRule {
            name: name.to_owned(),
            min,
            max: None,
        }
    }

    #[test]
    fn rules_are_found_by_name_also_after_a_change() {
        let mut rules = ChildRules::from(vec![rule("a", 0), rule("b", 1), rule("c", 2)]);
        assert_eq!(rules.place_of("c"), Some(2));
        assert_eq!(rules.place_of("d"), None);
        let required = |rules: &ChildRules| rules.required().map(|(at, _)| at).collect::<Vec<_>>();
        assert_eq!(required(&rules), [1, 2]);
        rules[1] = rule("d", 0);
        assert_eq!((rules.place_of("b"), rules.place_of("d")), (None, Some(1)));
        assert_eq!(required(&rules), [2]);
    }
}
