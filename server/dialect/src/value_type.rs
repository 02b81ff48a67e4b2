//! What the value of an attribute, or the text of an element, may be.

use std::sync::Arc;

use crate::around::Around;
use crate::colour::ColourNotation;
use crate::inputs::ControlKind;
use crate::kinds::{Kind, Kinds};
use crate::numbers::Separator;
use crate::units::{Unit, Units};

/// The type of a value: one item, or a list of such items.
#[derive(Clone, Debug, PartialEq)]
pub struct ValueType {
    /// The type of the value, or of each member of the list.
    pub item: ItemType,
    /// Set if the value is a list.
    pub list: Option<ListRule>,
    /// What stands around a name that is referred to, in the value or in each member.
    pub around: Around,
}

impl ValueType {
    /// Whether a value is one item, and that as it stands.
    pub fn is_single(&self) -> bool {
        self.list.is_none() && self.around.is_nothing()
    }

    /// Whether a reference is known by what stands before or after the name.
    pub fn is_marked(&self) -> bool {
        !self.around.before.is_empty() || !self.around.after.is_empty()
    }

    /// A name as it is written where it is referred to: with what stands before and after every name.
    pub fn reference_to(&self, name: &str) -> String {
        let Around { before, after, .. } = &self.around;
        format!("{before}{name}{after}")
    }

    /// What refers to one name, made to refer to another: what stands around the name stays. None: it refers to
    /// something else.
    pub fn redirected(&self, reference: &str, old: &str, new: &str) -> Option<String> {
        let place = self.around.name_in(reference)?;
        let (before, name, after) = (
            &reference[..place.start],
            &reference[place.clone()],
            &reference[place.end..],
        );
        (name == old).then(|| format!("{before}{new}{after}"))
    }

    /// Whether a name is read as itself where it is referred to: no list takes it for several, and nothing cuts it.
    pub fn keeps(&self, name: &str) -> bool {
        let written = self.reference_to(name);
        let is_whole = match &self.list {
            Some(list) => {
                let mut members = list.separator.split(&written);
                members.next() == Some(0..written.len()) && members.next().is_none()
            }
            None => true,
        };
        let found = self.around.name_in(&written);
        is_whole && found.is_some_and(|found| written[found] == *name)
    }

    /// A single item.
    pub const fn single(item: ItemType) -> Self {
        Self {
            item,
            list: None,
            around: Around {
                before: String::new(),
                after: String::new(),
                begins_after: String::new(),
                ends_before: String::new(),
            },
        }
    }
}

impl ListRule {
    /// Whether it may have so many members.
    pub(crate) fn may_have(&self, members: usize) -> bool {
        members >= self.min as usize && self.max.is_none_or(|max| members <= max as usize)
    }
}

/// How a list is written and how long it may be.
#[derive(Clone, Debug, PartialEq)]
pub struct ListRule {
    /// Between two members. White space around it means nothing.
    pub separator: Separator,
    /// Least number of members.
    pub min: u32,
    /// Greatest number of members.
    pub max: Option<u32>,
}

/// The type of one item.
#[derive(Clone, Debug, PartialEq)]
pub enum ItemType {
    /// Anything.
    Text,
    /// One of two answers.
    Boolean {
        /// Words for true; the first is the one to write. Never empty.
        yes: Vec<String>,
        /// Words for false; the first is the one to write. Never empty.
        no: Vec<String>,
    },
    /// A whole number.
    Integer {
        /// Least and greatest.
        range: Bounds,
    },
    /// A number.
    Number {
        /// Least and greatest, in the number's own unit.
        range: Bounds,
        /// What it is measured in, if anything.
        unit: Option<Unit>,
    },
    /// A fixed count of numbers.
    Vector {
        /// How many numbers.
        count: u32,
        /// Between two numbers.
        separator: Separator,
        /// Least and greatest of each number, in its own unit.
        range: Bounds,
        /// What each is measured in, if anything.
        unit: Option<Unit>,
    },
    /// One word out of a list.
    Word(Arc<WordList>),
    /// A name that is given here.
    NameOf(Kind),
    /// A name that is given elsewhere in the document.
    Reference(Kinds),
    /// The position of a thing among its kind, in document order.
    PositionOf {
        /// What is counted.
        kind: Kind,
        /// The number of the first.
        first: u32,
    },
    /// A node of the scene.
    Node {
        /// The kinds of names that may stand for a node.
        aliases: Kinds,
        /// Whether an index path may stand.
        index_path: bool,
        /// Whether a node's name in the scene may stand. What is an alias's name too means the alias.
        node_name: bool,
    },
    /// A place in the scene's tree.
    IndexPath,
    /// A file of the mod (or, with the game's prefix, of the game).
    File {
        /// Permitted extensions without dot, in lower case; empty permits all.
        extensions: Arc<[String]>,
    },
    /// A named axis or button.
    Input(Option<ControlKind>),
    /// A colour.
    Colour(ColourNotation),
    /// A value of the property that the channel moves: three numbers, or a boolean for
    /// visibility.
    MovedValue {
        /// Between the numbers.
        separator: Separator,
        /// The unit of each quantity here.
        units: Box<Units>,
    },
}

impl ItemType {
    /// Whether it is nothing but a place in the scene, said without the names that the document gives.
    pub(crate) fn is_node_path(&self) -> bool {
        match self {
            Self::IndexPath => true,
            Self::Node { aliases, .. } => aliases.is_empty(),
            _ => false,
        }
    }
}

/// Least and greatest number.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Bounds {
    /// Least number.
    pub min: Option<f64>,
    /// Whether the least number itself is excluded ("above 0").
    pub above: bool,
    /// Greatest number.
    pub max: Option<f64>,
    /// Whether the greatest number itself is excluded ("below 1").
    pub below: bool,
}

impl Bounds {
    /// Whether a number is within.
    pub fn contains(&self, number: f64) -> bool {
        let low = match (self.min, self.above) {
            (None, _) => true,
            (Some(min), true) => number > min,
            (Some(min), false) => number >= min,
        };
        let high = match (self.max, self.below) {
            (None, _) => true,
            (Some(max), true) => number < max,
            (Some(max), false) => number <= max,
        };
        low && high
    }

    /// Whether there is no bound.
    pub fn is_open(&self) -> bool {
        self.min.is_none() && self.max.is_none()
    }

    /// The nearest number within, if there is one that needs no choice.
    pub fn clamp(&self, number: f64) -> Option<f64> {
        match (self.min, self.max) {
            (Some(min), _) if number < min && !self.above => Some(min),
            (_, Some(max)) if number > max && !self.below => Some(max),
            _ if self.contains(number) => Some(number),
            _ => None,
        }
    }
}

/// A list of words, each with its explanation.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct WordList {
    /// The name under `[words]`; `None` for a list that stands with its attribute.
    pub name: Option<String>,
    /// The words in the order of the file.
    pub words: Vec<Word>,
}

/// One word of a list.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Word {
    /// The word as documents write it.
    pub text: String,
    /// What it means; may be empty.
    pub doc: String,
}

impl WordList {
    /// The entry of a word.
    pub fn get(&self, text: &str) -> Option<&Word> {
        self.words.iter().find(|word| word.text == text)
    }

    /// The words alone.
    pub fn texts(&self) -> impl Iterator<Item = &str> {
        self.words.iter().map(|word| word.text.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_kept_or_cut() {
        let list = |separator| {
            Some(ListRule {
                separator,
                min: 0,
                max: None,
            })
        };
        let value = |list, begins_after: &str, ends_before: &str| ValueType {
            list,
            around: Around {
                before: "#".to_owned(),
                begins_after: begins_after.to_owned(),
                ends_before: ends_before.to_owned(),
                ..Around::default()
            },
            ..ValueType::single(ItemType::Text)
        };
        let blanks = value(list(Separator::WhiteSpace), "", "");
        assert!(blanks.keeps("mast.top") && !blanks.keeps("mast top"));
        let commas = value(list(Separator::Text(",".into())), "", "");
        assert!(commas.keeps("mast top") && !commas.keeps("mast,top"));
        let cut = value(None, "::", ".");
        assert!(cut.keeps("mast top") && !cut.keeps("mast.top") && !cut.keeps("rig::mast"));
    }
}
