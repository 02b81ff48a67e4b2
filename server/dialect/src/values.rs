//! Reading, checking, describing and writing values in a dialect's habits.

mod check;
mod describe;
mod read_write;

use std::ops::Range;

pub(crate) use describe::or_list;

use crate::inputs::ControlKind;
use crate::model::Dialect;
use crate::numbers::trimmed_range;
use crate::roles::Property;
use crate::value_type::{ItemType, ListRule, ValueType};

/// The value of a property at one end of a motion.
#[derive(Copy, Clone, Debug, PartialEq)]
pub enum EndValue {
    /// Metres, degrees or factors along or about x, y, z.
    Vector([f64; 3]),
    /// Shown or not.
    Visible(bool),
}

/// Something that is wrong with a value.
#[derive(Clone, Debug, PartialEq)]
pub struct ValueProblem {
    /// Bytes within the value.
    pub range: Range<usize>,
    /// What is wrong.
    pub fault: ValueFault,
}

/// What is wrong with a value.
#[derive(Clone, Debug, PartialEq)]
pub enum ValueFault {
    /// It cannot be read as what it should be.
    WrongType {
        /// "a number above 0, in metres"
        expected: String,
    },
    /// A number outside its bounds.
    OutOfRange {
        /// "from 0 to 1"
        expected: String,
        /// The nearest permitted number, as text to write, if there is one.
        nearest: Option<String>,
    },
    /// A word that is not in its list.
    UnknownWord {
        /// The word found.
        word: String,
        /// The words of the list.
        allowed: Vec<String>,
        /// The one that may have been meant.
        nearest: Option<String>,
    },
    /// An input of the other kind.
    WrongInputKind {
        /// The kind that is asked for.
        expected: ControlKind,
    },
    /// A list with too many or too few members.
    WrongCount {
        /// "2 members", "at least 1 member"
        expected: String,
        /// How many there are.
        found: usize,
    },
}

impl Dialect {
    /// The byte ranges of the members of a value: of each item if it is a list, else of the
    /// whole, trimmed of white space (free text is left whole). An empty list has none.
    ///
    /// Vectors in a list that uses the same separator as they do are told apart by their
    /// count of numbers; for a `moved-value` the property says that count (three if it is
    /// not known). Numbers left over make up a last, short member.
    pub fn items(
        &self,
        value_type: &ValueType,
        value: &str,
        property: Option<Property>,
    ) -> Vec<Range<usize>> {
        let parts: Vec<Range<usize>> = parts(value_type, value).collect();
        match parts_of_member(&value_type.item, value_type.list.as_ref(), property) {
            1 => parts,
            count => {
                let members = parts.chunks(count);
                members
                    .filter_map(|member| Some(member.first()?.start..member.last()?.end))
                    .collect()
            }
        }
    }
}

impl ValueType {
    /// What a list's separator cuts a value into, or the whole of what is no list; with what stands around names.
    pub fn members<'v>(&'v self, value: &'v str) -> impl Iterator<Item = Range<usize>> + use<'v> {
        let list = self.list.as_ref();
        let one = list.is_none().then(|| whole(self, value));
        let several = list.map(|list| list.separator.split(value));
        one.into_iter().chain(several.into_iter().flatten())
    }
}

/// The same; of each only the name, if something stands around it.
fn parts<'v>(
    value_type: &'v ValueType,
    value: &'v str,
) -> impl Iterator<Item = Range<usize>> + use<'v> {
    let is_bare = value_type.around.is_nothing();
    value_type.members(value).filter_map(move |part| {
        if is_bare {
            return Some(part);
        }
        let name = value_type.around.name_in(&value[part.clone()])?;
        Some(part.start + name.start..part.start + name.end)
    })
}

/// How many parts that the separator cuts off make up one member of a list, where it also stands between the numbers of
/// a member.
fn parts_of_member(item: &ItemType, list: Option<&ListRule>, property: Option<Property>) -> usize {
    let (count, separator) = match item {
        ItemType::Vector {
            count, separator, ..
        } => (*count as usize, separator),
        ItemType::MovedValue { separator, .. } => match property {
            Some(Property::Visibility) => (1, separator),
            _ => (3, separator),
        },
        _ => return 1,
    };
    match list {
        Some(list) if list.separator == *separator => count.max(1),
        _ => 1,
    }
}

/// The byte range of a value that is no list.
fn whole(value_type: &ValueType, value: &str) -> Range<usize> {
    match value_type.item {
        ItemType::Text => 0..value.len(),
        _ => trimmed_range(value, value),
    }
}
