//! What is wrong with a value.

use std::ops::Range;

use super::describe::separated;
use super::read_write::read_answer;
use super::{ValueFault, ValueProblem, parts, parts_of_member, whole};
use crate::inputs::ControlKind;
use crate::model::Dialect;
use crate::nearest::nearest;
use crate::numbers::{Separator, is_blank, trimmed};
use crate::roles::Property;
use crate::value_type::{Bounds, ItemType, ListRule, ValueType};

impl Dialect {
    /// Whether nothing is wrong with a value: see [`Self::check_value`].
    pub fn fits(&self, value_type: &ValueType, value: &str, property: Option<Property>) -> bool {
        if value_type.is_single() {
            let item = &value[whole(value_type, value)];
            return self.fits_item(&value_type.item, item, property);
        }
        if parts_of_member(&value_type.item, value_type.list.as_ref(), property) > 1 {
            return self.check_value(value_type, value, property).is_empty();
        }
        let mut found = 0;
        let fit = parts(value_type, value).all(|part| {
            found += 1;
            self.fits_item(&value_type.item, &value[part], property)
        });
        let list = value_type.list.as_ref();
        fit && list.is_none_or(|list| list.may_have(found))
    }

    /// Whether [`Self::fits`] is known to be true of a value that was read as one number.
    pub fn number_fits(&self, value_type: &ValueType, number: f64) -> bool {
        match &value_type.item {
            ItemType::Number { range, .. } => value_type.is_single() && range.contains(number),
            _ => false,
        }
    }

    /// Whether [`Self::fits`] is known to be true of a value that [`Self::read_end`] has read, where it is the value of
    /// this property.
    pub fn end_fits(&self, value_type: &ValueType, property: Property) -> bool {
        let is_vector = property != Property::Visibility;
        let fits = match &value_type.item {
            ItemType::MovedValue { .. } => true,
            ItemType::Boolean { .. } => !is_vector,
            ItemType::Vector {
                count: 3, range, ..
            } => is_vector && range.is_open(),
            _ => false,
        };
        fits && value_type.is_single()
    }

    /// What is wrong with a value, as far as the value alone can tell: that names and files
    /// exist is not looked for. `property` is what the channel around it moves, if known.
    pub fn check_value(
        &self,
        value_type: &ValueType,
        value: &str,
        property: Option<Property>,
    ) -> Vec<ValueProblem> {
        if value_type.is_single() {
            return self.check_item_at(value_type, value, whole(value_type, value), property);
        }
        let mut problems = Vec::new();
        let items = self.items(value_type, value, property);
        if let Some(list) = &value_type.list {
            let count = wrong_count(list, value, items.len());
            let is_one_for_several = items.len() == 1 && count.is_some();
            problems.extend(count);
            // The mark between the members is missing or another one: what looks like one member is several.
            if is_one_for_several {
                return problems;
            }
        }
        for range in items {
            problems.extend(self.check_item_at(value_type, value, range, property));
        }
        problems
    }

    fn check_item_at(
        &self,
        value_type: &ValueType,
        value: &str,
        range: Range<usize>,
        property: Option<Property>,
    ) -> Vec<ValueProblem> {
        let item = &value[range.clone()];
        if self.fits_item(&value_type.item, item, property) {
            return Vec::new();
        }
        let mut problems = self.item_problems(value_type, item, property);
        for problem in &mut problems {
            problem.range.start += range.start;
            problem.range.end += range.start;
        }
        problems
    }

    /// Whether an item is what it should be.
    fn fits_item(&self, item_type: &ItemType, item: &str, property: Option<Property>) -> bool {
        let fits_row = |count, separator, range| self.fits_row(item, count, separator, range);
        match item_type {
            ItemType::Text => true,
            ItemType::Boolean { yes, no } => read_answer(item, yes, no).is_some(),
            ItemType::Integer { range } => {
                read_integer(item).is_some_and(|number| range.contains(number))
            }
            ItemType::Number { range, .. } => {
                let number = self.read_number(item);
                number.is_some_and(|number| range.contains(number))
            }
            ItemType::Vector {
                count,
                separator,
                range,
                ..
            } => fits_row(*count as usize, separator, range),
            ItemType::Colour(notation) => notation.read(item, &self.notation.numbers).is_some(),
            ItemType::MovedValue { separator, .. } => match property {
                Some(Property::Visibility) => self.read_boolean(item).is_some(),
                None if self.read_boolean(item).is_some() => true,
                _ => fits_row(3, separator, &Bounds::default()),
            },
            ItemType::Word(list) => list.get(item).is_some(),
            ItemType::NameOf(_) | ItemType::Reference(_) => !is_blank(item),
            ItemType::PositionOf { first, .. } => {
                read_integer(item).is_some_and(|number| number >= f64::from(*first))
            }
            ItemType::Node { .. } => match self.meant(item_type, item) {
                Meant::Name => true,
                Meant::Path => self.notation.index_path.check(item).is_ok(),
                Meant::Nothing => false,
            },
            ItemType::IndexPath => self.notation.index_path.check(item).is_ok(),
            ItemType::File { extensions } => {
                let extension = item.rsplit_once('.').map(|(_, end)| end.to_lowercase());
                let fits = extensions.is_empty()
                    || extension.is_some_and(|extension| extensions.contains(&extension));
                fits && !is_blank(item)
            }
            ItemType::Input(_) if self.inputs.is_empty() => !is_blank(item),
            ItemType::Input(kind) => {
                let listed = |kind| self.inputs.of(kind).get(item).is_some();
                match kind {
                    Some(kind) => listed(*kind),
                    None => listed(ControlKind::Analog) || listed(ControlKind::Digital),
                }
            }
        }
    }

    /// What an item is taken for that asks for a node.
    fn meant(&self, item_type: &ItemType, item: &str) -> Meant {
        let (may_be_name, may_be_path) = match item_type {
            ItemType::Node {
                aliases,
                index_path,
                node_name,
            } => (!aliases.is_empty() || *node_name, *index_path),
            _ => (false, true),
        };
        // A name may look like a path; only what cannot be a name must be a path.
        let is_name = may_be_name
            && !is_blank(item)
            && !(may_be_path && self.notation.index_path.looks_like(item));
        match is_name {
            true => Meant::Name,
            false if may_be_path || !may_be_name => Meant::Path,
            false => Meant::Nothing,
        }
    }

    /// What is wrong with an item that is not what it should be.
    fn item_problems(
        &self,
        value_type: &ValueType,
        item: &str,
        property: Option<Property>,
    ) -> Vec<ValueProblem> {
        let whole = 0..item.len();
        let wrong_type = |expected: String| {
            vec![ValueProblem {
                range: whole.clone(),
                fault: ValueFault::WrongType { expected },
            }]
        };
        let out_of_range = |number, range| self.out_of_range(whole.clone(), number, range);
        let expected = || self.describe_item(&value_type.item);
        match &value_type.item {
            ItemType::Text => Vec::new(),
            ItemType::Integer { range } => match read_integer(item) {
                Some(number) => vec![out_of_range(number, range)],
                None => wrong_type(expected()),
            },
            ItemType::Number { range, .. } => match self.read_number(item) {
                Some(number) => vec![out_of_range(number, range)],
                None => wrong_type(expected()),
            },
            ItemType::Vector {
                count,
                separator,
                range,
                ..
            } => self.row_problems(item, *count as usize, separator, range, expected),
            ItemType::MovedValue { separator, .. } => match property {
                Some(Property::Visibility) => {
                    let words = self.notation.yes.iter().chain(&self.notation.no);
                    wrong_type(super::describe::or_list(words.map(String::as_str)))
                }
                Some(property) => {
                    let expected = || self.describe_moved(value_type, property);
                    self.row_problems(item, 3, separator, &Bounds::default(), expected)
                }
                None => self.row_problems(item, 3, separator, &Bounds::default(), expected),
            },
            ItemType::Word(list) => vec![unknown_word(item, list.texts().collect())],
            // Where an index path would do, so would all else that may stand there.
            ItemType::Node { .. } | ItemType::IndexPath if is_blank(item) => wrong_type(expected()),
            ItemType::Node { .. } | ItemType::IndexPath => match self.meant(&value_type.item, item)
            {
                Meant::Name | Meant::Path => self.index_path_problem(item).into_iter().collect(),
                Meant::Nothing => wrong_type(expected()),
            },
            ItemType::Input(kind) => vec![self.input_problem(item, *kind)],
            ItemType::Boolean { .. }
            | ItemType::Colour(_)
            | ItemType::NameOf(_)
            | ItemType::Reference(_)
            | ItemType::PositionOf { .. }
            | ItemType::File { .. } => wrong_type(expected()),
        }
    }

    fn describe_moved(&self, value_type: &ValueType, property: Property) -> String {
        let ItemType::MovedValue { units, separator } = &value_type.item else {
            return self.describe_item(&value_type.item);
        };
        let separated = separated(separator);
        match property.quantity() {
            Some(quantity) => format!("3 numbers{separated}, in {}", units.of(quantity).label),
            None => format!("3 factors{separated}"),
        }
    }

    /// Whether an item is a row of so many numbers, each within its bounds.
    fn fits_row(&self, item: &str, count: usize, separator: &Separator, range: &Bounds) -> bool {
        let mut found = 0;
        let fit = separator.split(item).all(|part| {
            found += 1;
            let number = self.read_number(&item[part]);
            found <= count && number.is_some_and(|number| range.contains(number))
        });
        fit && found == count
    }

    fn row_problems(
        &self,
        item: &str,
        count: usize,
        separator: &Separator,
        range: &Bounds,
        expected: impl Fn() -> String,
    ) -> Vec<ValueProblem> {
        let mut problems = Vec::new();
        let mut found = 0;
        for part in separator.split(item) {
            found += 1;
            if found > count {
                break;
            }
            match self.read_number(&item[part.clone()]) {
                Some(number) if range.contains(number) => {}
                Some(number) => problems.push(self.out_of_range(part, number, range)),
                None => problems.push(ValueProblem {
                    range: part,
                    fault: ValueFault::WrongType {
                        expected: expected(),
                    },
                }),
            }
        }
        if found == count {
            return problems;
        }
        vec![ValueProblem {
            range: 0..item.len(),
            fault: ValueFault::WrongType {
                expected: expected(),
            },
        }]
    }

    fn out_of_range(&self, place: Range<usize>, number: f64, range: &Bounds) -> ValueProblem {
        ValueProblem {
            range: place,
            fault: ValueFault::OutOfRange {
                expected: self.describe_bounds(range),
                nearest: range.clamp(number).map(|number| self.write_number(number)),
            },
        }
    }

    fn index_path_problem(&self, item: &str) -> Option<ValueProblem> {
        let fault = self.notation.index_path.check(item).err()?;
        Some(ValueProblem {
            range: fault.range,
            fault: ValueFault::WrongType {
                expected: format!(
                    "an index path such as `{}` ({})",
                    self.notation.index_path.example(),
                    fault.message
                ),
            },
        })
    }

    fn input_problem(&self, item: &str, kind: Option<ControlKind>) -> ValueProblem {
        let listed = |kind| self.inputs.of(kind).get(item).is_some();
        match kind {
            Some(expected) if listed(ControlKind::Analog) || listed(ControlKind::Digital) => {
                ValueProblem {
                    range: 0..item.len(),
                    fault: ValueFault::WrongInputKind { expected },
                }
            }
            Some(kind) => unknown_word(item, self.inputs.of(kind).texts().collect()),
            None => {
                let both = self
                    .inputs
                    .analog
                    .texts()
                    .chain(self.inputs.digital.texts());
                unknown_word(item, both.collect())
            }
        }
    }
}

/// What an item is taken for that asks for a node.
enum Meant {
    Name,
    Path,
    /// It can be neither.
    Nothing,
}

/// However large: beyond 53 bits it is rounded.
fn read_integer(text: &str) -> Option<f64> {
    let text = trimmed(text);
    let digits = text.strip_prefix(['+', '-']).unwrap_or(text);
    let is_whole = !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
    is_whole.then(|| text.parse().ok()).flatten()
}

fn unknown_word(word: &str, allowed: Vec<&str>) -> ValueProblem {
    let nearest = nearest(word, allowed.iter().copied()).map(str::to_owned);
    ValueProblem {
        range: 0..word.len(),
        fault: ValueFault::UnknownWord {
            word: word.to_owned(),
            allowed: allowed.into_iter().map(str::to_owned).collect(),
            nearest,
        },
    }
}

fn wrong_count(list: &ListRule, value: &str, found: usize) -> Option<ValueProblem> {
    if list.may_have(found) {
        return None;
    }
    let enough = found >= list.min as usize;
    let members = |count: u32| match count {
        1 => String::from("1 member"),
        count => format!("{count} members"),
    };
    let mut expected = match (list.min, list.max) {
        (min, Some(max)) if min == max => members(min),
        (_, Some(max)) if enough => format!("at most {}", members(max)),
        (min, _) => format!("at least {}", members(min)),
    };
    if !enough {
        expected.push_str(&separated(&list.separator));
    }
    Some(ValueProblem {
        range: 0..value.len(),
        fault: ValueFault::WrongCount { expected, found },
    })
}
