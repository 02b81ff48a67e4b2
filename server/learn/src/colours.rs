//! Colours, told by a hash before hexadecimal digits, or by what they are called: three shares of 1 may be anything.

use crate::names::SlotRef;
use crate::roles::hints_at;
use crate::separators::separator;
use crate::survey::Survey;
use crate::types::Look;
use crate::values::Values;
use dialect::{ColourNotation, ItemType, ValueType};

/// Marks between the numbers of a colour, in the order in which they are tried.
const MARKS: [&str; 5] = [" ", ",", ";", "|", "/"];

/// What stands before digits, in the order in which it is tried.
const BEFORE: [&str; 4] = ["#", "0x", "$", ""];

/// The type, if the values of a slot are colours.
pub(crate) fn told(
    look: &Look<'_>,
    survey: &Survey<'_>,
    slot: SlotRef,
    values: &Values,
) -> Option<ValueType> {
    let fits = |notation: &ColourNotation| {
        let numbers = &look.habits.notation().numbers;
        let read = |value| notation.read(look.corpus.text(value), numbers).is_some();
        !values.each.is_empty() && values.hold(read)
    };
    let hashed = || ColourNotation::Hex {
        mark: BEFORE[0].to_owned(),
    };
    let found = match is_called_colour(survey, slot) {
        false => Some(hashed()).filter(fits),
        true => {
            let digits = BEFORE.into_iter().map(|mark| ColourNotation::Hex {
                mark: mark.to_owned(),
            });
            let rows = MARKS.into_iter().flat_map(|mark| {
                [1, 255].map(|full| ColourNotation::Row {
                    separator: separator(mark),
                    full,
                })
            });
            digits.chain(rows).find(fits)
        }
    };
    found.map(|notation| ValueType::single(ItemType::Colour(notation)))
}

/// Whether the attribute or the element is called a colour.
fn is_called_colour(survey: &Survey<'_>, slot: SlotRef) -> bool {
    let group = &survey.groups[slot.group];
    let of = &group.slots[slot.slot];
    let names = [of.attribute, Some(group.contexts.name(of.context))];
    let mut names = names.into_iter().flatten();
    names.any(|name| hints_at(survey.corpus.called(name), "colour"))
}
