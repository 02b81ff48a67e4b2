//! Counts in words.

use crate::prose::Line;
use dialect::ItemType;
use learn::precedents::{Habit, Spot};

/// What one machine alone writes is no habit.
const FEWEST: u32 = 2;

/// So many are told in a line.
const MOST_IN_A_LINE: usize = 5;

/// Those that several machines have.
pub(crate) fn worth_counting<'h, 'p>(
    habits: &'h [Habit<'p>],
) -> impl Iterator<Item = &'h Habit<'p>> {
    habits.iter().filter(|habit| habit.machines >= FEWEST)
}

/// "31 of 43 machines"
pub(crate) fn counted(machines: u32, of: u32) -> String {
    format!("{machines} of {of} machines")
}

/// Whether a value of this type can mean the same on another machine. What refers to something
/// on the machine cannot.
pub(crate) fn travels(item: &ItemType) -> bool {
    !matches!(
        item,
        ItemType::NameOf(_)
            | ItemType::Reference(_)
            | ItemType::PositionOf { .. }
            | ItemType::Node { .. }
            | ItemType::IndexPath
    )
}

/// "In the library: `0.6` in 31 of 43 machines, `1` in 9": nothing if no value is usual.
pub(crate) fn values_line(spot: &Spot<'_>, attribute: Option<&str>, item: &ItemType) -> Line {
    if !travels(item) {
        return Line::new();
    }
    let usual = spot.values(attribute);
    let mut values = worth_counting(&usual.values).take(MOST_IN_A_LINE);
    let Some(first) = values.next() else {
        return Line::new();
    };
    let first = Line::new()
        .code(first.text)
        .text(format!(" in {}", counted(first.machines, usual.machines)));
    let others = values.map(|value| {
        let count = format!(" in {}", value.machines);
        Line::new().code(value.text).text(count)
    });
    let line = Line::new().text("In the library: ");
    let line = line.list(std::iter::once(first).chain(others));
    match spot.machines() - usual.machines {
        0 => line,
        without => line.text(format!("; left out in {without}")),
    }
}

/// "In the library: in 43 machines, usually with `gain`, `glyph`": the attributes and children
/// that most of them have.
pub(crate) fn element_line(spot: &Spot<'_>) -> Line {
    let machines = spot.machines();
    if machines < FEWEST {
        return Line::new();
    }
    let line = Line::new().text(format!("In the library: in {machines} machines"));
    let (attributes, children) = (spot.attributes(), spot.children());
    let most = attributes.iter().chain(&children);
    let mut most = most
        .filter(|habit| habit.machines * 2 > machines)
        .peekable();
    if most.peek().is_none() {
        return line;
    }
    let named = most.map(|habit| {
        let name = Line::new().code(habit.text);
        match habit.machines == machines {
            true => name,
            false => name.text(format!(" ({})", habit.machines)),
        }
    });
    line.text(", usually with ").list(named)
}
