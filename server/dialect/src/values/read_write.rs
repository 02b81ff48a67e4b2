//! From what is written to numbers in base units, and back.

use super::EndValue;
use crate::model::Dialect;
use crate::numbers::{Separator, trimmed};
use crate::roles::Property;
use crate::units::{Quantity, Unit, Units};
use crate::value_type::{ItemType, ValueType};

impl Property {
    /// What the property's numbers measure.
    pub fn quantity(self) -> Option<Quantity> {
        match self {
            Property::Translation => Some(Quantity::Length),
            Property::Rotation => Some(Quantity::Angle),
            Property::Scale | Property::Visibility => None,
        }
    }
}

impl Dialect {
    /// The number that `text` says.
    pub fn read_number(&self, text: &str) -> Option<f64> {
        self.notation.numbers.read(text)
    }

    /// The shortest text for a number, without exponent.
    pub fn write_number(&self, number: f64) -> String {
        self.notation.numbers.write(number)
    }

    /// A vector in the dialect's usual notation.
    pub fn write_vector(&self, numbers: &[f64]) -> String {
        let notation = &self.notation.numbers;
        notation.write_row(numbers, &notation.vector_separator)
    }

    /// The answer that `text` gives in the dialect's usual words.
    pub(crate) fn read_boolean(&self, text: &str) -> Option<bool> {
        read_answer(text, &self.notation.yes, &self.notation.no)
    }

    /// The number that an item says, in base units.
    ///
    /// `quantity` is what it measures by the role it plays; an item that declares no unit
    /// is read in the dialect's usual unit for it.
    pub fn read_quantity(
        &self,
        value_type: &ValueType,
        item: &str,
        quantity: Option<Quantity>,
    ) -> Option<f64> {
        self.to_quantity(value_type, self.read_number(item)?, quantity)
    }

    /// What a number that an item says is in base units: see [`Self::read_quantity`].
    pub fn to_quantity(
        &self,
        value_type: &ValueType,
        number: f64,
        quantity: Option<Quantity>,
    ) -> Option<f64> {
        let declared = match &value_type.item {
            ItemType::Number { unit, .. } | ItemType::Vector { unit, .. } => unit.as_ref(),
            ItemType::Integer { .. } | ItemType::Text => None,
            _ => return None,
        };
        let unit = declared.or_else(|| quantity.map(|quantity| self.notation.units.of(quantity)));
        Some(unit.map_or(number, |unit| unit.to_base(number)))
    }

    /// The value of a property that one item says, in metres, degrees or factors.
    ///
    /// The item is a `moved-value`, or a `vector` of three, a single `number` for a uniform
    /// scale, or a `boolean` for visibility.
    pub fn read_end(
        &self,
        value_type: &ValueType,
        item: &str,
        property: Property,
    ) -> Option<EndValue> {
        if property == Property::Visibility {
            let visible = match &value_type.item {
                ItemType::Boolean { yes, no } => read_answer(item, yes, no),
                _ => self.read_boolean(item),
            };
            return visible.map(EndValue::Visible);
        }
        let separator = self.separator_of(value_type);
        let mut vector = [0.0; 3];
        let mut count = 0;
        for part in separator.split(item) {
            *vector.get_mut(count)? = self.read_number(&item[part])?;
            count += 1;
        }
        let vector = match (count, &value_type.item) {
            (3, _) => vector,
            (1, ItemType::Number { .. }) if property == Property::Scale => [vector[0]; 3],
            _ => return None,
        };
        let unit = self.end_unit(value_type, property);
        Some(EndValue::Vector(match unit {
            Some(unit) => vector.map(|number| unit.to_base(number)),
            None => vector,
        }))
    }

    /// The text of one item for a property's value in metres, degrees or factors. `None` if
    /// the item cannot say this value (a uniform scale with unequal factors, a boolean for
    /// numbers).
    pub fn write_end(
        &self,
        value_type: &ValueType,
        value: EndValue,
        property: Property,
    ) -> Option<String> {
        let vector = match (value, property) {
            (EndValue::Visible(visible), Property::Visibility) => {
                return Some(self.write_boolean(value_type, visible));
            }
            (EndValue::Vector(vector), property) if property != Property::Visibility => vector,
            _ => return None,
        };
        let vector = match self.end_unit(value_type, property) {
            Some(unit) => vector.map(|number| unit.from_base(number)),
            None => vector,
        };
        if let ItemType::Number { .. } = value_type.item {
            let uniform = vector[0] == vector[1] && vector[1] == vector[2];
            return uniform.then(|| self.write_number(vector[0]));
        }
        let separator = self.separator_of(value_type);
        Some(self.notation.numbers.write_row(&vector, separator))
    }

    /// The word for an answer in an item of this type.
    pub(crate) fn write_boolean(&self, value_type: &ValueType, answer: bool) -> String {
        let (yes, no) = match &value_type.item {
            ItemType::Boolean { yes, no } => (yes, no),
            _ => (&self.notation.yes, &self.notation.no),
        };
        let words = if answer { yes } else { no };
        words.first().cloned().unwrap_or_else(|| answer.to_string())
    }

    /// One text for several items.
    pub fn write_list(&self, value_type: &ValueType, items: &[String]) -> String {
        let separator = value_type
            .list
            .as_ref()
            .map_or(" ", |list| list.separator.written());
        // A separator without blank reads better with one behind it, but habits differ:
        // what the dialect says is what is written.
        items.join(separator)
    }

    fn separator_of<'d>(&'d self, value_type: &'d ValueType) -> &'d Separator {
        match &value_type.item {
            ItemType::Vector { separator, .. } | ItemType::MovedValue { separator, .. } => {
                separator
            }
            _ => &self.notation.numbers.vector_separator,
        }
    }

    fn end_unit<'d>(&'d self, value_type: &'d ValueType, property: Property) -> Option<&'d Unit> {
        let quantity = property.quantity()?;
        let units: &Units = match &value_type.item {
            ItemType::Vector {
                unit: Some(unit), ..
            }
            | ItemType::Number {
                unit: Some(unit), ..
            } if unit.quantity == quantity => {
                return Some(unit);
            }
            ItemType::MovedValue { units, .. } => units,
            _ => &self.notation.units,
        };
        Some(units.of(quantity))
    }
}

pub(super) fn read_answer(text: &str, yes: &[String], no: &[String]) -> Option<bool> {
    let text = trimmed(text);
    if yes.iter().any(|word| word == text) {
        return Some(true);
    }
    no.iter().any(|word| word == text).then_some(false)
}
