//! What the library says about proposals: those that more machines write come first, with counts.

use super::{
    CompletionItem, CompletionKind,
    values::{Proposals, Wanted},
};
use crate::precedents::{counted, spot, travels, worth_counting};
use dialect::ItemType;
use learn::precedents::Habit;
use syntax::Element;

/// So many values of the library are proposed where any value may stand.
const MOST_VALUES: usize = 8;

/// Puts values in order, and adds usual ones where the grammar lists none.
pub(super) fn of_values(wanted: &Wanted<'_, '_>, list: &mut Proposals) {
    let item = &wanted.declared.value.item;
    let path: Vec<Element<'_>> = wanted.spot.chain.iter().map(|at| at.element).collect();
    let Some(spot) = spot(wanted.view, &path).filter(|_| travels(item)) else {
        return;
    };
    // What is usual for a list is usual for the whole list.
    if wanted.declared.value.list.is_some() && !wanted.others.is_empty() {
        return;
    }
    let attribute = wanted.spot.attribute.map(|attribute| attribute.name());
    let usual = spot.values(attribute);
    let is_open = matches!(
        item,
        ItemType::Text
            | ItemType::Integer { .. }
            | ItemType::Number { .. }
            | ItemType::Vector { .. }
            | ItemType::MovedValue { .. }
    );
    if is_open {
        for value in worth_counting(&usual.values).take(MOST_VALUES) {
            let fits = wanted
                .dialect
                .check_value(&wanted.declared.value, value.text, None);
            if fits.is_empty() {
                list.add(CompletionItem::new(
                    CompletionKind::Value,
                    value.text,
                    value.text,
                ));
            }
        }
    }
    let machines = |item: &CompletionItem| {
        let mut values = usual.values.iter();
        values
            .find(|value| value.text == item.label)
            .map_or(0, |value| value.machines)
    };
    // Inputs that something else uses stay behind the free ones.
    let is_taken = |it: &CompletionItem| matches!(item, ItemType::Input(_)) && it.detail != FREE;
    list.items
        .sort_by_cached_key(|item| (is_taken(item), std::cmp::Reverse(machines(item))));
    for item in &mut list.items {
        let machines = machines(item);
        note(item, machines, usual.machines);
    }
}

/// The word beside an input that nothing uses.
pub(super) const FREE: &str = "free";

/// Puts attributes or elements in order: those that more machines have first, though never
/// before those that must be there.
pub(super) fn of_names(
    items: &mut [CompletionItem],
    must_be: impl Fn(&CompletionItem) -> bool,
    habits: &[Habit<'_>],
    of: u32,
) {
    let machines = |item: &CompletionItem| {
        let mut habits = habits.iter();
        // The label may have the document's own prefix.
        let name = item.label.rsplit(':').next().unwrap_or_default();
        habits
            .find(|habit| habit.text == item.label || habit.text == name)
            .map_or(0, |habit| habit.machines)
    };
    items.sort_by_cached_key(|item| (!must_be(item), std::cmp::Reverse(machines(item))));
    for item in items {
        let machines = machines(item);
        note(item, machines, of);
    }
}

/// Notes a count beside a proposal.
fn note(item: &mut CompletionItem, machines: u32, of: u32) {
    if machines > 0 {
        let counted = counted(machines, of);
        item.detail = match item.detail.as_str() {
            "" => counted,
            detail => format!("{detail}, {counted}"),
        };
    }
}
