//! Numbers that count things of a machine, such as the third wheel: in the result they count the things that they counted
//! in the version that they come from, whatever came before these or went.

use std::collections::HashMap;

use dialect::Kind;
use machine::{Machine, Use, UseTarget};
use project::View;
use syntax::{Source as _, TextEdit, TextRange};

use super::machine::line;
use crate::cli::diff::version;

/// The numbers of one sort that stand in an element.
type Place = (TextRange, Kind);

/// A version that numbers of the result come from.
struct Side<'v> {
    machine: &'v Machine,
    counts: HashMap<Place, Vec<i64>>,
    to_result: HashMap<TextRange, TextRange>,
    from_result: HashMap<TextRange, TextRange>,
}

/// The edits that make numbers of the result count what they counted, and a sentence for each whose thing has gone.
/// Where both sides have a number, it is that of the first.
pub(super) fn followed(result: &View, sides: [&View; 2]) -> (Vec<TextEdit>, Vec<String>) {
    let (mut edits, mut gone) = (Vec::new(), Vec::new());
    let Some(machine) = result.machine() else {
        return (edits, gone);
    };
    let counts = counts(machine);
    if counts.is_empty() {
        return (edits, gone);
    }
    let sides = sides.map(|view| Side::of(view, result));
    let positions = machine.uses.iter().filter_map(position);
    for (used, kind, index) in positions {
        let place = (used.element, kind);
        let alike = |side: &&Side<'_>| side.counts_alike(place, &counts[&place]);
        let Some(side) = sides.iter().flatten().find(alike) else {
            continue;
        };
        let Some(thing) = nth(side.machine, kind, index) else {
            continue;
        };
        let there = side.to_result.get(&thing);
        let now = there.and_then(|there| machine.counted(&kind).position(|one| one == *there));
        let text = result.document.slice(used.range);
        match (now.map(|now| now as i64), text.trim().parse::<i64>()) {
            (Some(now), Ok(written)) if now != index => {
                let number = (written + now - index).to_string();
                edits.push(TextEdit::replace(used.range, number));
            }
            (None, _) => gone.push(format!(
                "line {} of the result: what `{text}` counted is not there any more.",
                line(result, used.range)
            )),
            _ => {}
        }
    }
    (edits, gone)
}

impl<'v> Side<'v> {
    fn of(view: &'v View, result: &View) -> Option<Self> {
        let machine = view.machine()?;
        let to_result = compare::counterparts(&version(view), &version(result));
        let from_result = to_result.iter().map(|(own, there)| (*there, *own));
        Some(Self {
            machine,
            counts: counts(machine),
            from_result: from_result.collect(),
            to_result,
        })
    }

    /// Whether the same numbers stand at a place of the result and here.
    fn counts_alike(&self, (element, kind): Place, there: &[i64]) -> bool {
        let own = self.from_result.get(&element);
        own.and_then(|own| self.counts.get(&(*own, kind)))
            .is_some_and(|own| own == there)
    }
}

fn position(used: &Use) -> Option<(&Use, Kind, i64)> {
    match &used.target {
        UseTarget::Position { kind, index } => Some((used, *kind, *index)),
        _ => None,
    }
}

/// All numbers that count, from zero.
fn counts(machine: &Machine) -> HashMap<Place, Vec<i64>> {
    let mut counts: HashMap<Place, Vec<i64>> = HashMap::new();
    for (used, kind, index) in machine.uses.iter().filter_map(position) {
        counts.entry((used.element, kind)).or_default().push(index);
    }
    counts
}

fn nth(machine: &Machine, kind: Kind, index: i64) -> Option<TextRange> {
    machine.counted(&kind).nth(usize::try_from(index).ok()?)
}
