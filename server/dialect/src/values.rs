//! Reading, checking, describing and writing values in a dialect's habits.

mod check;
mod describe;
mod read_write;

use std::ops::Range;

pub(crate) use describe::or_list;

use crate::inputs::ControlKind;
use crate::model::Dialect;
use crate::numbers::{Separator, trimmed_range};
use crate::roles::Property;
use crate::value_type::{ItemType, ValueType};

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
        let name_in = |part: Range<usize>| {
            let name = value_type.around.name_in(&value[part.clone()])?;
            Some(part.start + name.start..part.start + name.end)
        };
        let Some(list) = &value_type.list else {
            return name_in(whole(value_type, value)).into_iter().collect();
        };
        let parts: Vec<Range<usize>> = list.separator.split(value).collect();
        let parts: Vec<Range<usize>> = match value_type.around.is_nothing() {
            true => parts,
            false => parts.into_iter().filter_map(name_in).collect(),
        };
        let (count, separator) = match &value_type.item {
            ItemType::Vector {
                count, separator, ..
            } => (*count as usize, separator),
            ItemType::MovedValue { separator, .. } => match property {
                Some(Property::Visibility) => (1, separator),
                _ => (3, separator),
            },
            _ => (1, &Separator::WhiteSpace),
        };
        if count < 2 || separator != &list.separator {
            return parts;
        }
        let members = parts.chunks(count);
        members
            .filter_map(|member| Some(member.first()?.start..member.last()?.end))
            .collect()
    }
}

/// The byte range of a value that is no list.
fn whole(value_type: &ValueType, value: &str) -> Range<usize> {
    match value_type.item {
        ItemType::Text => 0..value.len(),
        _ => trimmed_range(value, value),
    }
}
