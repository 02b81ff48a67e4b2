//! Which scene nodes a definition speaks of, and what it says about them.

use dialect::{Dialect, EndValue, Kind, Property, Quantity};
use foldhash::{HashMap, HashMapExt};
use machine::{Machine, NodeRef, NodeTarget, Use, UseTarget};
use project::View;
use scene::{NodeIndex, Rest, Scene};

/// Finds nodes in constant time, for features that look at every place of a
/// document that asks for one.
#[derive(Debug)]
pub(crate) struct Nodes<'v> {
    pub(crate) machine: &'v Machine,
    pub(crate) scene: &'v Scene,
    /// What each alias leads to. The first of several with one name counts.
    aliases: HashMap<(&'v str, &'v str), Option<NodeIndex>>,
}

impl<'v> Nodes<'v> {
    /// None without a scene.
    pub(crate) fn of(view: &'v View) -> Option<Self> {
        let (machine, scene) = (view.machine()?, view.scene()?);
        let mut named: Vec<_> = machine
            .aliases
            .iter()
            .filter_map(|alias| Some((alias.name.as_ref()?.range.start(), alias)))
            .collect();
        named.sort_by_key(|(start, _)| *start);
        let mut aliases = HashMap::with_capacity(named.len());
        for given in &machine.definitions {
            let start = given.name.range.start();
            let Ok(at) = named.binary_search_by_key(&start, |(start, _)| *start) else {
                continue;
            };
            let alias = named[at].1;
            let path = alias.path.as_ref().and_then(|node| machine.path_of(node));
            aliases
                .entry((given.kind.as_str(), given.name.value.as_str()))
                .or_insert_with(|| scene.walk(path?).ok());
        }
        Some(Self {
            machine,
            scene,
            aliases,
        })
    }

    /// The node that a name of one of these kinds stands for.
    pub(crate) fn called(&self, kinds: &[Kind], name: &str) -> Option<NodeIndex> {
        let mut known = kinds
            .iter()
            .filter_map(|kind| self.aliases.get(&(kind.as_str(), name)));
        *known.next()?
    }

    pub(crate) fn of_ref(&self, node: &NodeRef) -> Option<NodeIndex> {
        match &node.target {
            NodeTarget::Path(path) => self.scene.walk(path).ok(),
            NodeTarget::Name { kinds } => self.called(kinds, &node.text),
            NodeTarget::Unreadable => None,
        }
    }

    pub(crate) fn of_use(&self, used: &Use) -> Option<NodeIndex> {
        match &used.target {
            UseTarget::Path(path) => self.scene.walk(path).ok(),
            UseTarget::Name { kinds, name, .. } => self.called(kinds, name),
            UseTarget::Position { .. } | UseTarget::Input { .. } => None,
        }
    }

    /// Whether `node` is `other` or hangs below it.
    pub(crate) fn is_at_or_below(&self, node: NodeIndex, other: NodeIndex) -> bool {
        node == other || self.scene.is_below(node, other)
    }
}

/// Where a node rests, as a value of a property: metres, degrees, factors.
pub(crate) fn rest_value(dialect: &Dialect, rest: &Rest, property: Property) -> EndValue {
    match property {
        Property::Translation => EndValue::Vector(rest.translation.to_array()),
        Property::Rotation => {
            EndValue::Vector(scene::angles(rest.rotation, dialect.notation.euler).to_array())
        }
        Property::Scale => EndValue::Vector(rest.scale.to_array()),
        Property::Visibility => EndValue::Visible(rest.visible),
    }
}

/// Numbers from a scene file, which holds 32-bit floats: six decimals are all
/// that is meant.
pub(crate) fn tidy(number: f64) -> f64 {
    let rounded = (number * 1e6).round() / 1e6;
    if rounded == 0.0 { 0.0 } else { rounded }
}

/// A value as a person would write it in the document.
pub(crate) fn tidy_value(value: EndValue) -> EndValue {
    match value {
        EndValue::Vector(numbers) => EndValue::Vector(numbers.map(tidy)),
        visible => visible,
    }
}

/// A length or the like in the dialect's unit, with the unit: `1.2 metres`.
pub(crate) fn with_unit(dialect: &Dialect, number: f64, quantity: Quantity) -> String {
    let unit = dialect.notation.units.of(quantity);
    format!(
        "{} {}",
        dialect.write_number(tidy(unit.from_base(number))),
        unit.label
    )
}

/// A row of numbers in the dialect's notation and unit.
pub(crate) fn row(dialect: &Dialect, numbers: [f64; 3], quantity: Option<Quantity>) -> String {
    let numbers = numbers.map(|number| match quantity {
        Some(quantity) => tidy(dialect.notation.units.of(quantity).from_base(number)),
        None => tidy(number),
    });
    dialect.write_vector(&numbers)
}
