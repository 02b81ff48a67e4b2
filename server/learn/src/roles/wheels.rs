//! Wheels: elements with a node, and with a number that is half the height of what is at the node, or in pairs where
//! wheels stand.

use super::columns::Column;
use super::ground::{Ground, Nodes, node_item};
use super::hints::hints_at;
use super::measures::Measures;
use super::proposal::{Proposal, word};
use super::records::{Field, Record, Records};
use super::shapes::Value;
use super::things::{name_type, path_of};
use crate::contexts::ContextId;
use dialect::{Bounds, ItemType, Quantity, Unit, ValueType};
use foldhash::{HashMap, HashMapExt as _};
use glam::DVec3;
use scene::{NodeIndex, Scene};
use std::collections::BTreeSet;

/// Metres: smaller and larger wheels are not looked for.
const RADII: std::ops::Range<f64> = 0.05..4.0;

/// Fewer round nodes show nothing.
const SHOWN: usize = 3;

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
    let fields: Vec<&Field> = record.fields.iter().filter(near).collect();
    let mut items = fields.iter();
    let (node, item) =
        items.find_map(|field| Some((*field, node_item(nodes, ground, field.slot)?)))?;
    let sizes = sizes(ground, record, &fields, node);
    if sizes.is_empty() {
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
    let at = path_of(ground, records.group, record.context);
    let mut names = fields.iter().copied();
    let name = names.find(|field| ground.gives(field.slot).is_some());
    let is_asked = sizes.len() >= 2 && are_asked_for(ground, record, name);
    let stand = || {
        let places = places(ground, records, nodes, record, node);
        let stand = Stand::of(&places, &sizes, &shapes.units)?;
        // Lamps may have radii, too.
        (stand.is_on_ground || hints_at(&at, word::WHEEL)).then_some(stand)
    };
    let (sign, radius) = Sign::of(&sizes, &shapes, stand, is_asked)?;

    let mut proposal = Proposal {
        role: word::WHEEL,
        confidence: sign.confidence(is_asked),
        reasons: vec![sign.reason(&radius.field.path, &shapes)],
        at,
        ..Proposal::default()
    };
    if let Some(name) = name {
        proposal.set(word::NAME, &name.path);
        proposal.types.push((name.slot, name_type(ground, name)));
    }
    proposal.set(word::NODE, &node.path);
    proposal.types.push((node.slot, ValueType::single(item)));
    proposal.set(word::RADIUS, &radius.field.path);
    proposal.types.push((radius.field.slot, size()));
    let others = sizes
        .iter()
        .filter(|column| column.field.slot != radius.field.slot);
    let width = shapes.best_fit(others, |round| round.width);
    if let Some((width, _)) = width.filter(|(_, fitting)| shapes.are_most(*fitting)) {
        proposal.set(word::WIDTH, &width.field.path);
        proposal.types.push((width.field.slot, size()));
    }
    if !sign.measures() {
        let assumed = format!("{} is taken for the radius.", radius.field.path);
        proposal.assumed.push(assumed);
    }
    let tells_unit = matches!(sign, Sign::Shape(_)) && measures.length.is_none();
    Some(Wheels {
        context: record.context,
        proposal,
        radii: radius.numbers().into_iter().flatten().collect(),
        unit: tells_unit.then(|| shapes.unit_of(radius)).flatten(),
    })
}

/// A wheel without any is none.
fn size() -> ValueType {
    ValueType::single(ItemType::Number {
        range: Bounds {
            min: Some(0.0),
            above: true,
            ..Bounds::default()
        },
        unit: None,
    })
}

/// The fields that may say how large something is.
fn sizes<'f>(
    ground: &Ground<'_>,
    record: &Record,
    fields: &[&'f Field],
    node: &Field,
) -> Vec<Column<'f>> {
    let others = fields.iter().copied();
    let others =
        others.filter(|field| field.slot != node.slot && ground.reference(field.slot).is_none());
    let columns = others.map(|field| Column::of(ground, record, field));
    let is_size = |value: &Value| value.number().is_some_and(|number| number > 0.0);
    columns
        .filter(|column| column.all_single(is_size))
        .collect()
}

/// What shows that elements are wheels.
enum Sign {
    /// In so many places a number is half the height of the node's shape.
    Shape(usize),
    /// Their nodes stand as those of wheels do.
    Stand(Stand),
    /// Others refer to them.
    Asked,
}

impl Sign {
    /// What shows it best, with the column that is the radius. `stand`: asked where shapes show nothing.
    fn of<'c, 'f>(
        sizes: &'c [Column<'f>],
        shapes: &Shapes,
        stand: impl FnOnce() -> Option<Stand>,
        is_asked: bool,
    ) -> Option<(Self, &'c Column<'f>)> {
        let (fitting, count) = shapes.best_fit(sizes, |round| round.radius)?;
        if shapes.are_most(count) {
            return Some((Self::Shape(count), fitting));
        }
        let mut called = sizes.iter();
        let called = called.find(|column| hints_at(&column.field.path, word::RADIUS));
        let likely = called.or(sizes.first())?;
        let stand = (shapes.known() < SHOWN).then(stand).flatten();
        match stand {
            Some(stand) if stand.is_on_ground => {
                let column = sizes.get(stand.column)?;
                Some((Self::Stand(stand), column))
            }
            Some(stand) => Some((Self::Stand(stand), likely)),
            None => is_asked.then_some((Self::Asked, likely)),
        }
    }

    fn confidence(&self, is_asked: bool) -> f64 {
        match self {
            Self::Shape(_) => 0.97,
            Self::Stand(stand) if stand.is_on_ground => 0.75,
            Self::Stand(_) | Self::Asked if is_asked => 0.65,
            Self::Stand(_) | Self::Asked => 0.6,
        }
    }

    /// Whether it tells the radius from other sizes.
    fn measures(&self) -> bool {
        match self {
            Self::Shape(_) => true,
            Self::Stand(stand) => stand.is_on_ground,
            Self::Asked => false,
        }
    }

    fn reason(&self, radius: &str, shapes: &Shapes) -> String {
        match self {
            Self::Shape(fitting) => format!(
                "{radius} is half the height of the node's shape in {fitting} of {} places",
                shapes.known()
            ),
            Self::Stand(stand) => stand.reason(radius),
            Self::Asked => "others refer to it, it has a node and sizes".to_owned(),
        }
    }
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
    /// In how many rows the node is round.
    fn known(&self) -> usize {
        self.rounds.iter().flatten().count()
    }

    /// Whether so many are most, and not just a few.
    fn are_most(&self, fitting: usize) -> bool {
        let known = self.known();
        fitting * 10 >= known * 7 && known >= SHOWN
    }

    /// The column whose numbers are most often that size of the shape, and how many are.
    fn best_fit<'c, 'f: 'c>(
        &self,
        columns: impl IntoIterator<Item = &'c Column<'f>>,
        of: fn(&Round) -> f64,
    ) -> Option<(&'c Column<'f>, usize)> {
        let columns = columns.into_iter();
        let fitting = columns.map(|column| (column, self.fit(column, of)));
        fitting.max_by_key(|(_, fitting)| *fitting)
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
