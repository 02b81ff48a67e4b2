//! What is known about a scene node.

use super::grammar::labelled;
use crate::{
    nodes::{Around, Nodes, rest_value, row, tidy, with_unit},
    owners::{name_of, owner},
    prose::{Line, Prose},
};
use dialect::{Dialect, EndValue, Property, Quantity};
use foldhash::HashSet;
use machine::Outline;
use project::View;
use scene::NodeIndex;
use syntax::{Element, TextRange};

/// More names than this are counted, not listed.
const MOST_LISTED: usize = 10;

/// Where the node is, how it rests, what moves it and what hangs on it.
/// `asking`: the element the question came from; it is not told of itself.
pub(crate) fn node_facts(
    view: &View,
    nodes: &Nodes<'_>,
    id: NodeIndex,
    asking: Option<TextRange>,
) -> Prose {
    let (Some(dialect), scene) = (view.dialect(), nodes.scene) else {
        return Prose::new();
    };
    let path = dialect.notation.index_path.label(&scene.index_path(id));
    let around = nodes.around(id);
    let aliases = aliases_of(nodes, &around, id, asking);
    Prose::new()
        .item(Line::new().text("Index path: ").code(path))
        .item(Line::new().text("Node: ").code(scene.tree_path(id)))
        .item(labelled("Called: ", Line::new().list(aliases)))
        .item(rest(dialect, nodes, id))
        .item(size(dialect, nodes, id))
        .item(labelled("Moved by: ", listed(movers(nodes, &around, id))))
        .item(labelled(
            "On it: ",
            listed(on_it(view, nodes, &around, id, asking)),
        ))
}

fn aliases_of(
    nodes: &Nodes<'_>,
    around: &Around<'_>,
    id: NodeIndex,
    asking: Option<TextRange>,
) -> Vec<Line> {
    let all = nodes.outline.all(|facts| &facts.aliases);
    let same = all.filter(|(entry, alias)| {
        let path = alias.path.as_ref();
        let path = path.filter(|path| around.may_be_asked_for(path));
        path.and_then(|path| nodes.of_ref(path)) == Some(id)
            && Some(entry.placed(&alias.element)) != asking
    });
    let names = same.filter_map(|(_, alias)| alias.name.as_ref());
    names.map(|name| Line::new().code(&*name.value)).collect()
}

fn rest(dialect: &Dialect, nodes: &Nodes<'_>, id: NodeIndex) -> Line {
    let rest = &nodes.scene[id].rest;
    let parts = [
        Property::Translation,
        Property::Rotation,
        Property::Scale,
        Property::Visibility,
    ];
    let said = parts.into_iter().filter_map(|property| {
        let value = rest_value(dialect, rest, property);
        let text = match value {
            EndValue::Visible(true) => return None,
            EndValue::Visible(false) => return Some(Line::new().text("not shown")),
            EndValue::Vector(numbers) => {
                let numbers = numbers.map(tidy);
                let is_default = match property {
                    Property::Translation => false,
                    Property::Scale => numbers == [1.0; 3],
                    _ => numbers == [0.0; 3],
                };
                if is_default {
                    return None;
                }
                row(dialect, numbers, property.quantity())
            }
        };
        let unit = property
            .quantity()
            .map(|quantity| format!(" {}", dialect.notation.units.of(quantity).label));
        Some(
            Line::new()
                .text(format!("{} ", property.as_str()))
                .code(text)
                .text(unit.unwrap_or_default()),
        )
    });
    Line::new().text("At rest: ").list(said)
}

fn size(dialect: &Dialect, nodes: &Nodes<'_>, id: NodeIndex) -> Line {
    let Some(bounds) = &nodes.scene[id].bounds else {
        return Line::new();
    };
    let unit = dialect.notation.units.of(Quantity::Length);
    let [x, y, z] = bounds
        .size()
        .to_array()
        .map(|length| dialect.write_number(tidy(unit.from_base(length))));
    Line::new().text(format!("Size: {x} × {y} × {z} {}", unit.label))
}

/// The animations that move the node, itself or with what it hangs on.
fn movers(nodes: &Nodes<'_>, around: &Around<'_>, id: NodeIndex) -> Vec<Line> {
    let mut lines = Vec::new();
    for animation in nodes.outline.animations() {
        let mut ways: Vec<(&str, Option<&str>)> = Vec::new();
        for (_, channel) in animation.channels {
            let asked = channel.node.as_ref();
            let Some(asked) = asked.filter(|asked| around.may_be_asked_for(asked)) else {
                continue;
            };
            let moved = nodes.of_ref(asked);
            let Some(moved) = moved.filter(|moved| nodes.is_at_or_below(id, *moved)) else {
                continue;
            };
            for motion in &channel.motions {
                let property = motion.property.map_or("motion", Property::as_str);
                let way = (property, (moved != id).then_some(&*asked.text));
                if !ways.contains(&way) {
                    ways.push(way);
                }
            }
        }
        if ways.is_empty() {
            continue;
        }
        let ways = ways.into_iter().map(|(property, carrier)| match carrier {
            None => Line::new().text(property),
            Some(carrier) => Line::new().text(format!("{property} of ")).code(carrier),
        });
        let name = animation
            .head
            .name
            .as_ref()
            .map_or("an animation without a name", |name| &*name.value);
        lines.push(Line::new().code(name).text(" (").list(ways).text(")"));
    }
    lines
}

/// The elements that ask for the node or one below it, channels and aliases apart.
fn on_it(
    view: &View,
    nodes: &Nodes<'_>,
    around: &Around<'_>,
    id: NodeIndex,
    asking: Option<TextRange>,
) -> Vec<Line> {
    let mut seen = HashSet::default();
    let all = nodes.outline.all(|facts| &facts.uses);
    let below = all.filter(|(_, used)| {
        let node = || nodes.of_use(used);
        around.may_be_used(used) && node().is_some_and(|node| nodes.is_at_or_below(node, id))
    });
    let holders = below.filter_map(|(entry, used)| {
        let used = entry.placed(used);
        let is_asking = asking.is_some_and(|asking| asking.contains_range(used.range));
        let is_one = !is_asking
            && !is_of_alias_or_channel(nodes.outline, used.range)
            && seen.insert(used.element);
        is_one.then_some(used)
    });
    let lines = holders.enumerate().map(|(at, used)| match at {
        0..MOST_LISTED => owner(view, used.element, used.range)
            .map(|owner| element_line(view, nodes.outline, owner))
            .unwrap_or_default(),
        // Beyond what is shown, only the count matters.
        _ => Line::new(),
    });
    lines.collect()
}

/// Whether an alias or a channel says this.
fn is_of_alias_or_channel(outline: &Outline, range: TextRange) -> bool {
    outline.near(TextRange::empty(range.start())).any(|entry| {
        let aliases = entry.facts.aliases.iter().map(|alias| &alias.element);
        let channels = entry.channels().map(|channel| &channel.element);
        let mut elements = aliases.chain(channels);
        elements.any(|element| entry.placed(element).contains_range(range))
    })
}

/// "wheel `front.left`", "roller 3"
fn element_line(view: &View, outline: &Outline, element: Element<'_>) -> Line {
    let range = element.range();
    let line = Line::new().text(element.local_name());
    if let Some(name) = name_of(view, range) {
        return line.text(" ").code(name);
    }
    match outline.wheel(range) {
        Some((at, _)) => line.text(format!(" {}", at + 1)),
        None => line,
    }
}

/// The first few, and how many more there are.
pub(super) fn listed(mut lines: Vec<Line>) -> Line {
    let more = lines.len().saturating_sub(MOST_LISTED);
    lines.truncate(MOST_LISTED);
    let line = Line::new().list(lines);
    match more {
        0 => line,
        more => line.text(format!(" and {more} more")),
    }
}

/// A time as the dialect says it.
pub(super) fn seconds(dialect: &Dialect, seconds: f64) -> String {
    with_unit(dialect, seconds, Quantity::Time)
}
