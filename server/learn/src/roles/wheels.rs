//! Wheels: elements with a node, and with a number that is half the height of what is at the node, or in pairs where
//! wheels stand.

use super::columns::Column;
use super::ground::{Ground, Nodes, node_item};
use super::hints::hints_at;
use super::measures::Measures;
use super::proposal::{Proposal, word};
use super::records::{Field, Record, Records};
use super::things::{name_type, path_of};
use crate::contexts::ContextId;
use dialect::{Quantity, Unit, ValueType};
use foldhash::{HashMap, HashMapExt as _};
use glam::DVec3;
use scene::{NodeIndex, Scene};
use std::collections::BTreeSet;

/// Metres: smaller and larger wheels are not looked for.
const RADII: std::ops::Range<f64> = 0.05..4.0;

/// Elements that are wheels.
pub(super) struct Wheels {
    pub(super) context: ContextId,
    pub(super) proposal: Proposal,
    pub(super) radii: Vec<f64>,
    /// The unit in which their radii are those of their nodes' shapes, if no other evidence tells it, and how many are.
    pub(super) unit: Option<(Unit, usize)>,
}

/// Wheels: elements with a node whose shape is round and as large as they say. Of those that are as sure the first ones.
pub(super) fn wheels(
    ground: &Ground<'_>,
    records: &Records,
    nodes: &Nodes,
    measures: &Measures,
    taken: &BTreeSet<ContextId>,
) -> Option<Wheels> {
    let free = records.all.iter();
    let free = free.filter(|record| !taken.contains(&record.context));
    let mut best: Option<Wheels> = None;
    for wheels in free.filter_map(|record| in_record(ground, records, nodes, measures, record)) {
        let sure = |known: &Wheels| known.proposal.confidence >= wheels.proposal.confidence;
        if !best.as_ref().is_some_and(sure) {
            best = Some(wheels);
        }
    }
    best
}

/// The elements of a record as wheels, if they may be some.
fn in_record(
    ground: &Ground<'_>,
    records: &Records,
    nodes: &Nodes,
    measures: &Measures,
    record: &Record,
) -> Option<Wheels> {
    let near = |field: &&Field| {
        field.down <= 1 && !field.several && !field.path.contains(':') && record.share(field) >= 0.8
    };
    let fields = record.fields.iter().filter(near);
    let (node, item) = fields
        .clone()
        .find_map(|field| Some((field, node_item(nodes, ground, field.slot)?)))?;
    let columns: Vec<Column<'_>> = fields
        .clone()
        .filter(|field| field.slot != node.slot && ground.reference(field.slot).is_none())
        .map(|field| Column::of(ground, record, field))
        .filter(|column| {
            column.all_single(|value| value.number().is_some_and(|number| number > 0.0))
        })
        .collect();
    if columns.is_empty() {
        return None;
    }
    let shapes = Shapes {
        rounds: rounds(ground, records, nodes, record, node),
        units: match &measures.length {
            Some((unit, _)) => vec![unit.clone()],
            None => Unit::all_known(Quantity::Length)
                .filter_map(Unit::known)
                .collect(),
        },
    };
    let known = shapes.rounds.iter().flatten().count();
    let by_shape = columns
        .iter()
        .map(|column| (column, shapes.fit(column, |round| round.radius)))
        .max_by_key(|(_, fitting)| *fitting);
    let fitting = by_shape.map_or(0, |(_, fitting)| fitting);
    let is_by_shape = shapes.are_most(fitting);
    let named = fields
        .clone()
        .find(|field| ground.gives(field.slot).is_some());
    let stand = || {
        let places = places(ground, records, nodes, record, node);
        let stand = Stand::of(&places, &columns, &shapes.units)?;
        // Lamps may have radii, too.
        let hinted = hints_at(&path_of(ground, records.group, record.context), word::WHEEL);
        (stand.is_on_ground || hinted).then_some(stand)
    };
    let stand = (known < 3).then(stand).flatten();
    let by_stand = stand.as_ref().filter(|stand| stand.is_on_ground);
    let mut proposal = Proposal {
        role: word::WHEEL,
        at: path_of(ground, records.group, record.context),
        confidence: match is_by_shape {
            true => 0.97,
            false if by_stand.is_some() => 0.75,
            false if columns.len() >= 2 && are_asked_for(ground, record, named) => 0.65,
            false if stand.is_some() => 0.6,
            false => return None,
        },
        ..Proposal::default()
    };
    if let Some(name) = named {
        proposal.set(word::NAME, &name.path);
        proposal.types.push((name.slot, name_type(ground, name)));
    }
    proposal.set(word::NODE, &node.path);
    proposal.types.push((node.slot, ValueType::single(item)));
    let radius = match (is_by_shape, by_stand) {
        (true, _) => by_shape.map(|(column, _)| column),
        (false, Some(stand)) => columns.get(stand.column),
        (false, None) => columns
            .iter()
            .find(|column| hints_at(&column.field.path, word::RADIUS))
            .or(columns.first()),
    };
    let told = radius.filter(|_| is_by_shape && measures.length.is_none());
    let unit = told.and_then(|column| shapes.unit_of(column));
    let mut radii = Vec::new();
    if let Some(radius) = radius {
        proposal.set(word::RADIUS, &radius.field.path);
        radii.extend(radius.numbers().into_iter().flatten());
        let width = columns
            .iter()
            .filter(|column| column.field.slot != radius.field.slot)
            .map(|column| (column, shapes.fit(column, |round| round.width)))
            .max_by_key(|(_, fitting)| *fitting);
        if let Some((width, _)) = width.filter(|(_, fitting)| shapes.are_most(*fitting)) {
            proposal.set(word::WIDTH, &width.field.path);
        }
        proposal.reasons.push(match (is_by_shape, &stand) {
            (true, _) => format!(
                "{} is half the height of the node's shape in {fitting} of {known} places",
                radius.field.path
            ),
            (false, Some(stand)) => stand.reason(&radius.field.path),
            (false, None) => "others refer to it, it has a node and sizes".into(),
        });
        if !is_by_shape && by_stand.is_none() {
            proposal
                .assumed
                .push(format!("{} is taken for the radius.", radius.field.path));
        }
    }
    Some(Wheels {
        context: record.context,
        proposal,
        radii,
        unit,
    })
}

/// Whether something refers to such elements, by their name or by counting them.
fn are_asked_for(ground: &Ground<'_>, record: &Record, named: Option<&Field>) -> bool {
    let kind = named.map(|name| ground.gives(name.slot).unwrap_or_default());
    ground.names.references.iter().any(|one| {
        kind.is_some_and(|kind| ground.asks(one.slot, kind).is_some())
            || ground.counts(one.slot, record.context).is_some()
    })
}

/// The shapes of the nodes of elements.
struct Shapes {
    /// By row.
    rounds: Vec<Option<Round>>,
    /// Units that sizes may be in.
    units: Vec<Unit>,
}

impl Shapes {
    /// Whether so many are most, and not just a few.
    fn are_most(&self, fitting: usize) -> bool {
        let known = self.rounds.iter().flatten().count();
        fitting * 10 >= known * 7 && known >= 3
    }

    /// In how many rows a number is that size of the shape, in the unit that fits best.
    fn fit(&self, column: &Column<'_>, of: fn(&Round) -> f64) -> usize {
        let counts = self.units.iter().map(|unit| self.fit_in(column, of, unit));
        counts.max().unwrap_or(0)
    }

    fn fit_in(&self, column: &Column<'_>, of: fn(&Round) -> f64, unit: &Unit) -> usize {
        let rows = column.numbers().into_iter().zip(&self.rounds);
        rows.filter(|(number, round)| match (number, round) {
            (Some(number), Some(round)) => {
                let there = of(round) / unit.to_base;
                (number - there).abs() <= 0.02 * there
            }
            _ => false,
        })
        .count()
    }

    /// The unit in which most numbers are radii, and how many are. The base unit comes first where several fit.
    fn unit_of(&self, column: &Column<'_>) -> Option<(Unit, usize)> {
        let mut best: Option<(Unit, usize)> = None;
        for unit in &self.units {
            let count = self.fit_in(column, |round| round.radius, unit);
            let is_more = best.as_ref().is_none_or(|(known, most)| {
                count > *most || count == *most && unit.to_base == 1.0 && known.to_base != 1.0
            });
            if is_more {
                best = Some((unit.clone(), count));
            }
        }
        best
    }
}

/// Nodes without shapes that stand as wheels do.
struct Stand {
    /// How many have one on the other side, of all.
    paired: usize,
    all: usize,
    /// The column whose numbers are most often as large as the nodes are high, and how many are.
    column: usize,
    fitting: usize,
    /// Whether that holds for most of them.
    is_on_ground: bool,
}

impl Stand {
    /// `places`: per row, the document and where its node is, metres.
    fn of(places: &[Option<(u32, DVec3)>], columns: &[Column<'_>], units: &[Unit]) -> Option<Self> {
        let mut documents: HashMap<u32, Vec<DVec3>> = HashMap::new();
        for (document, place) in places.iter().flatten() {
            documents.entry(*document).or_default().push(*place);
        }
        let all: usize = documents.values().map(Vec::len).sum();
        let paired = documents.values().map(|places| in_pairs(places)).sum();
        if all < 4 || paired * 5 < all * 4 {
            return None;
        }
        let fitting = |column: &Column<'_>| {
            let numbers = column.numbers();
            let fits = |unit: &Unit, axis: usize| {
                let rows = numbers.iter().zip(places);
                rows.filter(|(number, place)| {
                    let (Some(number), Some((_, place))) = (number, place) else {
                        return false;
                    };
                    let radius = number * unit.to_base;
                    RADII.contains(&radius) && (place[axis] - radius).abs() <= 0.2 * radius
                })
                .count()
            };
            // Whichever way is up.
            let ways = units.iter().flat_map(|unit| [(unit, 1), (unit, 2)]);
            ways.map(|(unit, axis)| fits(unit, axis)).max().unwrap_or(0)
        };
        let counts = columns.iter().map(fitting).enumerate();
        let (column, fitting) = counts.rev().max_by_key(|(_, count)| *count)?;
        Some(Self {
            paired,
            all,
            column,
            fitting,
            is_on_ground: fitting * 10 >= all * 7,
        })
    }

    fn reason(&self, radius: &str) -> String {
        let Self {
            paired,
            all,
            fitting,
            ..
        } = self;
        match self.is_on_ground {
            true => format!(
                "{paired} of {all} stand opposite another, and in {fitting} places {radius} is how high the node stands"
            ),
            false => format!(
                "{paired} of {all} stand opposite another, and its words are those of wheels"
            ),
        }
    }
}

/// How many of the places have their mirror image among them, in the direction in which most have.
fn in_pairs(places: &[DVec3]) -> usize {
    let is_opposite = |one: DVec3, other: DVec3, axis: usize| {
        let mut mirrored = other;
        mirrored[axis] = -mirrored[axis];
        one[axis].abs() > 0.05 && one.distance(mirrored) <= 0.02 + 0.02 * one.length()
    };
    let of_axis = |axis: usize| {
        let with = places
            .iter()
            .filter(|one| places.iter().any(|other| is_opposite(**one, *other, axis)));
        with.count()
    };
    // A document with so many wheels is none.
    match places.len() {
        0..=256 => (0..3).map(of_axis).max().unwrap_or(0),
        _ => 0,
    }
}

/// Per row, its document and where its node is at rest, metres.
fn places(
    ground: &Ground<'_>,
    records: &Records,
    nodes: &Nodes,
    record: &Record,
    node: &Field,
) -> Vec<Option<(u32, DVec3)>> {
    let documents = &ground.survey.groups[records.group].documents;
    let values = node.by_row(record.rows.len());
    let rows = record.rows.iter().zip(values);
    rows.map(|((document, _), value)| {
        let (scene, at) = nodes.find(ground, documents[*document as usize], value?)?;
        Some((*document, scene.world_rest(at).w_axis.truncate()))
    })
    .collect()
}

/// The shape of a wheel, metres.
struct Round {
    radius: f64,
    width: f64,
}

/// Per row, the shape of the node if it is round.
fn rounds(
    ground: &Ground<'_>,
    records: &Records,
    nodes: &Nodes,
    record: &Record,
    node: &Field,
) -> Vec<Option<Round>> {
    let documents = &ground.survey.groups[records.group].documents;
    let values = node.by_row(record.rows.len());
    let rows = record.rows.iter().zip(values);
    rows.map(|((document, _), value)| {
        let (scene, at) = nodes.find(ground, documents[*document as usize], value?)?;
        round(scene, at)
    })
    .collect()
}

fn round(scene: &Scene, id: NodeIndex) -> Option<Round> {
    let node = &scene[id];
    let own = |node: &scene::Node| {
        node.bounds
            .as_ref()
            .map(|bounds| bounds.size() * node.rest.scale().abs())
    };
    let below = || {
        let mut below = scene.children(id).iter();
        below.find_map(|child| own(&scene[*child]))
    };
    let size = own(node).or_else(below)?;
    let mut sides = size.to_array();
    sides.sort_by(f64::total_cmp);
    let [least, middle, greatest] = sides;
    let alike = |one: f64, other: f64| (one - other).abs() <= 0.02 * other;
    match (alike(middle, greatest), alike(least, middle)) {
        (true, _) => Some(Round {
            radius: greatest / 2.0,
            width: least,
        }),
        (_, true) => Some(Round {
            radius: middle / 2.0,
            width: greatest,
        }),
        _ => None,
    }
}
