//! Elements whose name says little, and one of whose attributes says what they are: `<item sort="wheel" …>`.
//!
//! They are told apart before anything else is learnt: in the corpus, their name becomes what a dialect's key and paths
//! write, `item[@sort='wheel']`. So all that is learnt of elements of different names is learnt of these sorts.

use crate::corpus::{Corpus, Document};
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _, HashSet};

/// A name is vague if this share of the elements of its documents have it.
const SHARE: f64 = 0.5;

/// What nearly all elements do.
const NEARLY_ALL: f64 = 0.95;

/// More sorts than these are no sorts.
const MOST_SORTS: usize = 60;

/// How often a sort stands in a document on average, at least; names stand once.
const AGAIN: f64 = 1.3;

/// Fewer elements show nothing.
const LEAST_ELEMENTS: usize = 20;

/// The sorts of the elements of one name.
#[derive(Clone, Debug)]
pub(crate) struct Sorts {
    pub(crate) name: Symbol,
    /// What tells them apart.
    pub(crate) attribute: Symbol,
    /// Each value with the number of its elements, the most frequent first.
    pub(crate) values: Vec<(Symbol, u32)>,
    /// How many elements have the name, and how many of them no sort.
    pub(crate) elements: u32,
    pub(crate) without: u32,
}

impl Corpus {
    /// Tells elements of one name apart where one of their attributes says what they are. To be called once, when all
    /// documents are there.
    pub fn tell_sorts_apart(&mut self) {
        for name in vague_names(self) {
            if let Some(sorts) = sorts_of(self, name) {
                self.rename(&sorts);
                self.sorts.push(sorts);
            }
        }
    }

    fn rename(&mut self, sorts: &Sorts) {
        let Self {
            symbols,
            documents,
            plain,
            ..
        } = self;
        let mut names: HashMap<Symbol, Symbol> = HashMap::new();
        for (value, _) in &sorts.values {
            let (name, attribute) = (symbols.text(sorts.name), symbols.text(sorts.attribute));
            let written = format!("{name}[@{attribute}='{}']", symbols.text(*value));
            let written = symbols.add(&written);
            names.insert(*value, written);
            plain.insert(written, sorts.name);
        }
        for document in documents {
            for at in 0..document.elements.len() {
                if document.elements[at].name != sorts.name {
                    continue;
                }
                let value = value_of(document, at, sorts.attribute);
                if let Some(sort) = value.and_then(|value| names.get(&value)) {
                    document.elements[at].name = *sort;
                }
            }
        }
    }

    /// The name as documents write it, of an element that may be of a certain sort.
    pub(crate) fn plain(&self, name: Symbol) -> Symbol {
        match self.plain.is_empty() {
            true => name,
            false => self.plain.get(&name).copied().unwrap_or(name),
        }
    }

    /// Whether an attribute of elements of this name only says of which sort they are.
    pub(crate) fn tells_sort(&self, name: Symbol, attribute: Option<Symbol>) -> bool {
        let plain = self.plain(name);
        let mut sorts = self.sorts.iter();
        plain != name
            && sorts.any(|sorts| sorts.name == plain && Some(sorts.attribute) == attribute)
    }

    /// What elements are called: their sort if it is told, else their name.
    pub(crate) fn called(&self, name: Symbol) -> &str {
        let text = self.text(name);
        match self.plain.contains_key(&name) {
            true => text.split('\'').nth(1).unwrap_or(text),
            false => text,
        }
    }
}

fn value_of(document: &Document, element: usize, attribute: Symbol) -> Option<Symbol> {
    let attributes = document.attributes_of(&document.elements[element]);
    let found = attributes.iter().find(|own| own.name == attribute);
    found.map(|own| own.value)
}

/// Names that so many elements of their documents have that they tell little.
fn vague_names(corpus: &Corpus) -> Vec<Symbol> {
    let mut shares: HashMap<Symbol, (usize, usize)> = HashMap::new();
    let mut own: HashMap<Symbol, usize> = HashMap::new();
    for document in &corpus.documents {
        own.clear();
        for element in &document.elements {
            *own.entry(element.name).or_default() += 1;
        }
        for (name, count) in own.drain() {
            let share = shares.entry(name).or_default();
            share.0 += count;
            share.1 += document.elements.len();
        }
    }
    let vague = |(count, all): &(usize, usize)| {
        *count >= LEAST_ELEMENTS && *count as f64 >= SHARE * *all as f64
    };
    let mut names: Vec<Symbol> = shares
        .into_iter()
        .filter(|(_, share)| vague(share))
        .map(|(name, _)| name)
        .collect();
    names.sort_unstable();
    names
}

/// What an element may have, besides its sort.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
enum Trait {
    Attribute(Symbol),
    Child(Symbol),
    Text,
}

/// What elements of one value of an attribute have.
#[derive(Default)]
struct Profile {
    elements: u32,
    files: u32,
    has: HashMap<Trait, u32>,
}

impl Profile {
    fn share(&self, one: &Trait) -> f64 {
        let has = self.has.get(one).copied().unwrap_or(0);
        f64::from(has) / f64::from(self.elements.max(1))
    }
}

/// The sorts of the elements of a name, by the attribute that tells most.
fn sorts_of(corpus: &Corpus, name: Symbol) -> Option<Sorts> {
    // By attribute, how many elements have it, and how many attributes stand before it in them.
    let mut counts: HashMap<Symbol, (u32, usize)> = HashMap::new();
    let mut elements = 0;
    for document in &corpus.documents {
        for element in document.elements.iter().filter(|own| own.name == name) {
            elements += 1;
            for (before, attribute) in document.attributes_of(element).iter().enumerate() {
                let count = counts.entry(attribute.name).or_default();
                count.0 += 1;
                count.1 += before;
            }
        }
    }
    let everywhere = |count: u32| f64::from(count) >= NEARLY_ALL * f64::from(elements);
    let counts = counts.into_iter();
    let mut attributes: Vec<(usize, Symbol)> = counts
        .filter(|(_, (count, _))| everywhere(*count))
        .map(|(attribute, (_, before))| (before, attribute))
        .collect();
    // Of several that tell as much, the last one is taken: that is to be the one that stands first.
    attributes.sort_unstable_by_key(|(before, attribute)| {
        std::cmp::Reverse((*before, corpus.text(*attribute)))
    });
    let attributes = attributes.into_iter().map(|(_, attribute)| attribute);
    let told = attributes.filter_map(|attribute| {
        let profiles = profiles(corpus, name, attribute)?;
        let told = how_well(&profiles, attribute)?;
        let mut values: Vec<(Symbol, u32)> = profiles
            .iter()
            .map(|(value, profile)| (*value, profile.elements))
            .collect();
        values.sort_by_key(|(value, count)| (std::cmp::Reverse(*count), *value));
        let with: u32 = values.iter().map(|(_, count)| count).sum();
        let sorts = Sorts {
            name,
            attribute,
            values,
            elements,
            without: elements - with,
        };
        Some((told, sorts))
    });
    let best = told.max_by(|(one, _), (other, _)| one.total_cmp(other));
    best.map(|(_, sorts)| sorts)
}

/// What elements of each value have. `None` if the values are not those of sorts: too many, no words, or sorts that
/// stand in themselves, as parts of trees do.
fn profiles(corpus: &Corpus, name: Symbol, attribute: Symbol) -> Option<HashMap<Symbol, Profile>> {
    let mut profiles: HashMap<Symbol, Profile> = HashMap::new();
    let mut nested = 0_u32;
    let mut elements = 0_u32;
    let mut here: HashSet<Symbol> = HashSet::default();
    for document in &corpus.documents {
        here.clear();
        for (at, element) in document.elements.iter().enumerate() {
            if element.name != name {
                continue;
            }
            let Some(value) = value_of(document, at, attribute) else {
                continue;
            };
            if !profiles.contains_key(&value)
                && (profiles.len() >= MOST_SORTS || !is_word(corpus.text(value)))
            {
                return None;
            }
            elements += 1;
            nested += u32::from(stands_in_itself(document, at, attribute, value));
            let profile = profiles.entry(value).or_default();
            profile.elements += 1;
            profile.files += u32::from(here.insert(value));
            for own in document.attributes_of(element) {
                if own.name != attribute {
                    *profile.has.entry(Trait::Attribute(own.name)).or_default() += 1;
                }
            }
            if element.text != Symbol::EMPTY {
                *profile.has.entry(Trait::Text).or_default() += 1;
            }
        }
        let mut held: HashSet<(u32, Symbol)> = HashSet::default();
        for element in &document.elements {
            let Some(parent) = element.parent else {
                continue;
            };
            if document.elements[parent as usize].name != name
                || !held.insert((parent, element.name))
            {
                continue;
            }
            if let Some(profile) = value_of(document, parent as usize, attribute)
                .and_then(|value| profiles.get_mut(&value))
            {
                *profile.has.entry(Trait::Child(element.name)).or_default() += 1;
            }
        }
    }
    let is_tree = f64::from(nested) > (1.0 - NEARLY_ALL) * f64::from(elements);
    (!is_tree).then_some(profiles)
}

fn is_word(text: &str) -> bool {
    let is_part = |c: char| c.is_alphanumeric() || "-_.:".contains(c);
    text.starts_with(|c: char| c.is_alphabetic()) && text.chars().all(is_part)
}

/// Whether an element stands directly in one of the same name and sort.
fn stands_in_itself(document: &Document, at: usize, attribute: Symbol, value: Symbol) -> bool {
    let element = &document.elements[at];
    element.parent.is_some_and(|parent| {
        let parent = parent as usize;
        document.elements[parent].name == element.name
            && value_of(document, parent, attribute) == Some(value)
    })
}

/// How well values tell what elements have: which share of what they have and have not follows from them. `None` if
/// there are no two values of which each has something of its own, if they are as good as names, or if many are met in
/// one file only.
fn how_well(profiles: &HashMap<Symbol, Profile>, attribute: Symbol) -> Option<f64> {
    let all: u32 = profiles.values().map(|profile| profile.elements).sum();
    let lone = profiles.values().filter(|profile| profile.files < 2);
    let lone: u32 = lone.map(|profile| profile.elements).sum();
    let meetings: u32 = profiles.values().map(|profile| profile.files).sum();
    if f64::from(lone) > (1.0 - NEARLY_ALL) * f64::from(all)
        || f64::from(all) < AGAIN * f64::from(meetings)
    {
        return None;
    }
    let mut traits: Vec<Trait> = profiles
        .values()
        .flat_map(|profile| profile.has.keys().copied())
        .filter(|one| *one != Trait::Attribute(attribute))
        .collect();
    traits.sort_unstable();
    traits.dedup();
    let owns = |one: &Profile, other: &Profile| {
        let mut traits = traits.iter();
        traits.any(|it| one.share(it) >= NEARLY_ALL && !other.has.contains_key(it))
    };
    let differ = profiles.values().enumerate().any(|(at, one)| {
        let mut others = profiles.values().skip(at + 1);
        others.any(|other| owns(one, other) && owns(other, one))
    });
    if !differ {
        return None;
    }
    let right = traits.iter().map(|it| {
        let right = profiles.values().map(|profile| {
            let has = profile.has.get(it).copied().unwrap_or(0);
            has.max(profile.elements - has)
        });
        right.sum::<u32>()
    });
    let right: u32 = right.sum();
    Some(f64::from(right) / (f64::from(all) * traits.len() as f64))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::corpus::Source;

    /// The names of the elements of the first document, once the sorts are told apart.
    fn names(files: &[String]) -> Vec<String> {
        let mut corpus = Corpus::default();
        for (at, text) in files.iter().enumerate() {
            let (file, member) = (format!("{at}.xml").into(), None);
            assert!(corpus.add(Source { file, member }, text));
        }
        corpus.tell_sorts_apart();
        let elements = corpus.documents[0].elements.iter();
        elements
            .map(|element| corpus.text(element.name).to_owned())
            .collect()
    }

    fn files(of: impl Fn(usize) -> String) -> Vec<String> {
        (0..8).map(of).collect()
    }

    #[test]
    fn what_an_attribute_says_elements_are() {
        let found = names(&files(|n| {
            format!(
                "<deck><thing sort='tag' key='k{n}' at='0'/><thing sort='roll' r='{n}'/>\
                 <thing sort='act'><thing sort='slide' far='1'/></thing><thing sort='roll' r='2'/><thing sort='roll' r='3'/></deck>"
            )
        }));
        assert_eq!(
            found,
            [
                "deck",
                "thing[@sort='tag']",
                "thing[@sort='roll']",
                "thing[@sort='act']",
                "thing[@sort='slide']",
                "thing[@sort='roll']",
                "thing[@sort='roll']"
            ]
        );
    }

    #[test]
    fn of_two_attributes_that_tell_the_same_the_first_one_does() {
        let found = names(&files(|n| {
            format!(
                "<deck><thing sort='tag' look='t' key='k{n}'/><thing sort='roll' look='r' r='{n}'/>\
                 <thing sort='roll' look='r' r='2'/><thing look='t' sort='tag' key='2'/></deck>"
            )
        }));
        assert_eq!(found[1..3], ["thing[@sort='tag']", "thing[@sort='roll']"]);
    }

    #[test]
    fn elements_that_are_made_alike_are_of_one_sort() {
        let found = names(&files(|n| {
            format!(
                "<deck><lamp tint='red' at='{n}'/><lamp tint='green' at='1'/><lamp tint='red' at='2'/></deck>"
            )
        }));
        assert_eq!(found, ["deck", "lamp", "lamp", "lamp"]);
    }

    #[test]
    fn where_most_elements_have_names_of_their_own_those_tell() {
        let found = names(&files(|n| {
            format!(
                "<deck><a/><b/><c/><d/><e/><f/><g/>\
                 <box kind='long' l='{n}'/><box kind='round' r='1'/><box kind='long' l='2'/></deck>"
            )
        }));
        assert!(found.contains(&"box".to_owned()), "{found:?}");
    }

    #[test]
    fn names_are_no_sorts() {
        let found = names(&files(|n| {
            format!(
                "<shape><bone called='hull'><bone called='mast' at='{n}'/><bone called='roll' mesh='r'/></bone></shape>"
            )
        }));
        assert!(found.contains(&"bone".to_owned()), "{found:?}");
    }

    #[test]
    fn parts_of_trees_are_of_one_sort() {
        let found = names(&files(|n| {
            format!(
                "<shape><node is='group' n='a'><node is='group' n='{n}'><node is='group' n='b'/>\
                 <node is='mesh' of='m'/></node></node></shape>"
            )
        }));
        assert!(found.contains(&"node".to_owned()), "{found:?}");
    }
}
