use std::ops::Range;

use super::describe::separated;
use super::read_write::read_answer;
use super::{ValueFault, ValueProblem, whole};
use crate::inputs::ControlKind;
use crate::model::Dialect;
use crate::nearest::nearest;
use crate::numbers::{Separator, is_blank, trimmed};
use crate::roles::Property;
use crate::value_type::{Bounds, ItemType, ListRule, ValueType};

impl Dialect {
    /// What is wrong with a value, as far as the value alone can tell: that names and files
    /// exist is not looked for. `property` is what the channel around it moves, if known.
    pub fn check_value(
        &self,
        value_type: &ValueType,
        value: &str,
        property: Option<Property>,
    ) -> Vec<ValueProblem> {
        if value_type.list.is_none() && value_type.around.is_nothing() {
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
        let mut problems = self.check_item(value_type, &value[range.clone()], property);
        for problem in &mut problems {
            problem.range.start += range.start;
            problem.range.end += range.start;
        }
        problems
    }

    fn check_item(
        &self,
        value_type: &ValueType,
        item: &str,
        property: Option<Property>,
    ) -> Vec<ValueProblem> {
        let whole = 0..item.len();
        let wrong_type = |range: Range<usize>, expected: String| {
            vec![ValueProblem {
                range,
                fault: ValueFault::WrongType { expected },
            }]
        };
        let expected = || self.describe_item(&value_type.item);
        match &value_type.item {
            ItemType::Text => Vec::new(),
            ItemType::Boolean { yes, no } => match read_answer(item, yes, no) {
                Some(_) => Vec::new(),
                None => wrong_type(whole, expected()),
            },
            ItemType::Integer { range } => match read_integer(item) {
                Some(number) => self.check_bounds(whole, number, range),
                None => wrong_type(whole, expected()),
            },
            ItemType::Number { range, .. } => match self.read_number(item) {
                Some(number) => self.check_bounds(whole, number, range),
                None => wrong_type(whole, expected()),
            },
            ItemType::Vector {
                count,
                separator,
                range,
                ..
            } => self.check_row(item, *count as usize, separator, range, expected),
            ItemType::Colour(notation) => match notation.read(item, &self.notation.numbers) {
                Some(_) => Vec::new(),
                None => wrong_type(whole, expected()),
            },
            ItemType::MovedValue { separator, .. } => match property {
                Some(Property::Visibility) => match self.read_boolean(item) {
                    Some(_) => Vec::new(),
                    None => {
                        let words = self.notation.yes.iter().chain(&self.notation.no);
                        wrong_type(whole, super::describe::or_list(words.map(String::as_str)))
                    }
                },
                None if self.read_boolean(item).is_some() => Vec::new(),
                Some(property) => {
                    let expected = || self.describe_moved(value_type, property);
                    self.check_row(item, 3, separator, &Bounds::default(), expected)
                }
                None => self.check_row(item, 3, separator, &Bounds::default(), expected),
            },
            ItemType::Word(list) => match list.get(item) {
                Some(_) => Vec::new(),
                None => vec![unknown_word(item, list.texts().collect())],
            },
            ItemType::NameOf(_) | ItemType::Reference(_) if is_blank(item) => {
                wrong_type(whole, expected())
            }
            ItemType::NameOf(_) | ItemType::Reference(_) => Vec::new(),
            ItemType::PositionOf { first, .. } => {
                match read_integer(item).filter(|number| *number >= f64::from(*first)) {
                    Some(_) => Vec::new(),
                    None => wrong_type(whole, expected()),
                }
            }
            ItemType::Node {
                aliases,
                index_path,
                node_name,
            } => {
                let may_be_name = !aliases.is_empty() || *node_name;
                let name = may_be_name && !is_blank(item);
                // A name may look like a path; only what cannot be a name must be a path.
                let path = *index_path && self.notation.index_path.looks_like(item);
                match (name && !path, *index_path || !may_be_name) {
                    (true, _) => Vec::new(),
                    (false, true) => self.check_index_path(item),
                    (false, false) => wrong_type(whole, expected()),
                }
            }
            ItemType::IndexPath => self.check_index_path(item),
            ItemType::File { extensions } => {
                let extension = item.rsplit_once('.').map(|(_, end)| end.to_lowercase());
                let fits = extensions.is_empty()
                    || extension.is_some_and(|extension| extensions.contains(&extension));
                match fits && !is_blank(item) {
                    true => Vec::new(),
                    false => wrong_type(whole, expected()),
                }
            }
            ItemType::Input(kind) => self.check_input(item, *kind),
        }
    }

    fn describe_moved(&self, value_type: &ValueType, property: Property) -> String {
        let ItemType::MovedValue { units, .. } = &value_type.item else {
            return self.describe_item(&value_type.item);
        };
        match property.quantity() {
            Some(quantity) => format!("3 numbers, in {}", units.of(quantity).label),
            None => String::from("3 factors"),
        }
    }

    fn check_row(
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
                Some(number) => problems.extend(self.check_bounds(part, number, range)),
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

    fn check_bounds(&self, place: Range<usize>, number: f64, range: &Bounds) -> Vec<ValueProblem> {
        if range.contains(number) {
            return Vec::new();
        }
        vec![ValueProblem {
            range: place,
            fault: ValueFault::OutOfRange {
                expected: self.describe_bounds(range),
                nearest: range.clamp(number).map(|number| self.write_number(number)),
            },
        }]
    }

    fn check_index_path(&self, item: &str) -> Vec<ValueProblem> {
        match self.notation.index_path.check(item) {
            Ok(()) => Vec::new(),
            Err(fault) => vec![ValueProblem {
                range: fault.range,
                fault: ValueFault::WrongType {
                    expected: format!(
                        "an index path such as `{}` ({})",
                        self.notation.index_path.example(),
                        fault.message
                    ),
                },
            }],
        }
    }

    fn check_input(&self, item: &str, kind: Option<ControlKind>) -> Vec<ValueProblem> {
        if self.inputs.is_empty() && !is_blank(item) {
            return Vec::new();
        }
        let listed = |kind| self.inputs.of(kind).get(item).is_some();
        let (analog, digital) = (listed(ControlKind::Analog), listed(ControlKind::Digital));
        match kind {
            Some(ControlKind::Analog) if analog => Vec::new(),
            Some(ControlKind::Digital) if digital => Vec::new(),
            None if analog || digital => Vec::new(),
            Some(expected) if analog || digital => vec![ValueProblem {
                range: 0..item.len(),
                fault: ValueFault::WrongInputKind { expected },
            }],
            Some(kind) => vec![unknown_word(item, self.inputs.of(kind).texts().collect())],
            None => {
                let both = self
                    .inputs
                    .analog
                    .texts()
                    .chain(self.inputs.digital.texts());
                vec![unknown_word(item, both.collect())]
            }
        }
    }
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
    let enough = found >= list.min as usize;
    let not_too_many = list.max.is_none_or(|max| found <= max as usize);
    if enough && not_too_many {
        return None;
    }
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
