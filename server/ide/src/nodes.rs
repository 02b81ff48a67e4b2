//! Which scene nodes a definition speaks of, and what it says about them.

use dialect::{Dialect, EndValue, Kind, NodePath, Property, Quantity};
use foldhash::{HashMap, HashSet};
use machine::{Entry, NodeRef, NodeTarget, Outline, Use, UseTarget};
use project::View;
use scene::{NodeIndex, Rest, Scene};
use syntax::TextSize;

/// Finds nodes in constant time, for features that look at every place of a
/// document that asks for one. For a single place, [`node_of`] does.
#[derive(Debug)]
pub(crate) struct Nodes<'v> {
    pub(crate) outline: &'v Outline,
    pub(crate) scene: &'v Scene,
    /// By kind (there are few) and name.
    aliases: Vec<(&'v Kind, HashMap<&'v str, FirstGiven<'v>>)>,
}

/// Where a name of an alias is given first, and the path that it stands for.
type FirstGiven<'v> = (TextSize, Option<&'v NodeRef>);

impl<'v> Nodes<'v> {
    /// None without a scene.
    pub(crate) fn of(view: &'v View) -> Option<Self> {
        let (meaning, scene) = (view.meaning.as_ref()?, view.scene()?);
        let mut nodes = Self {
            outline: &meaning.outline,
            scene,
            aliases: Vec::new(),
        };
        // By where the name stands: aliases whose name is given in another entry.
        let mut others: HashMap<TextSize, Option<&NodeRef>> = HashMap::default();
        for entry in nodes.outline.entries() {
            let given = &entry.facts.definitions;
            // Both are mostly in the same order.
            let mut next = 0;
            for alias in &entry.facts.aliases {
                let (Some(name), path) = (&alias.name, alias.path.as_ref()) else {
                    continue;
                };
                let start = name.range.start();
                let mut all = (next..given.len()).chain(0..next);
                match all.find(|at| given[*at].name.range.start() == start) {
                    Some(at) => {
                        next = at + 1;
                        nodes.add(entry, &given[at].kind, &name.value, start, path);
                    }
                    None => {
                        others.insert(start + entry.start(), path);
                    }
                }
            }
        }
        if !others.is_empty() {
            for (entry, given) in nodes.outline.all(|facts| &facts.definitions) {
                let start = given.name.range.start();
                if let Some(path) = others.get(&(start + entry.start())) {
                    nodes.add(entry, &given.kind, &given.name.value, start, *path);
                }
            }
        }
        Some(nodes)
    }

    /// The first of several with one name counts.
    fn add(
        &mut self,
        entry: &Entry,
        kind: &'v Kind,
        name: &'v str,
        start: TextSize,
        path: Option<&'v NodeRef>,
    ) {
        let known = self.aliases.iter().position(|(known, _)| *known == kind);
        let known = known.unwrap_or_else(|| {
            let entries = self.outline.entries().iter();
            let most = entries.map(|entry| entry.facts.aliases.len()).sum();
            let names = HashMap::with_capacity_and_hasher(most, Default::default());
            self.aliases.push((kind, names));
            self.aliases.len() - 1
        });
        let start = start + entry.start();
        let names = &mut self.aliases[known].1;
        let first = names.entry(name).or_insert((start, path));
        if start < first.0 {
            *first = (start, path);
        }
    }

    /// The node that a name of one of these kinds stands for; `or_node` where nothing has the name.
    pub(crate) fn called(
        &self,
        kinds: &[Kind],
        name: &str,
        or_node: Option<&NodePath>,
    ) -> Option<NodeIndex> {
        let mut known = kinds.iter().filter_map(|kind| {
            let (_, names) = self.aliases.iter().find(|(known, _)| *known == kind)?;
            names.get(name)
        });
        let Some((_, node)) = known.next() else {
            // It may be the name of something else that has no node.
            let is_given = or_node.is_some() && self.outline.definition(kinds, name).is_some();
            return self.scene.find(or_node.filter(|_| !is_given)?).ok();
        };
        let node = (*node)?;
        match &node.target {
            NodeTarget::Path(path) => self.scene.find(path).ok(),
            _ => self.scene.find(&self.outline.path_of(node)?).ok(),
        }
    }

    pub(crate) fn of_ref(&self, node: &NodeRef) -> Option<NodeIndex> {
        match &node.target {
            NodeTarget::Path(path) => self.scene.find(path).ok(),
            NodeTarget::Name { kinds, or_node } => {
                self.called(kinds, &node.text, or_node.as_deref())
            }
            NodeTarget::Unreadable => None,
        }
    }

    pub(crate) fn of_use(&self, used: &Use) -> Option<NodeIndex> {
        match &used.target {
            UseTarget::Path(path) => self.scene.find(path).ok(),
            UseTarget::Name {
                kinds,
                name,
                or_node,
                ..
            } => self.called(kinds, name, or_node.as_deref()),
            UseTarget::Position { .. } | UseTarget::Input { .. } => None,
        }
    }

    /// What leads to the nodes above a node, to it, and to those below it.
    pub(crate) fn around(&self, node: NodeIndex) -> Around<'v> {
        let mut around = Around {
            scene: self.scene,
            node,
            path: self.scene.index_path(node),
            names: HashSet::default(),
        };
        let names = self.aliases.iter().flat_map(|(_, names)| names);
        let leading = names.filter(|(_, (_, path))| path.is_some_and(|path| around.may_lead(path)));
        around.names = leading.map(|(name, _)| *name).collect();
        around
    }

    /// Whether `node` is `other` or hangs below it.
    pub(crate) fn is_at_or_below(&self, node: NodeIndex, other: NodeIndex) -> bool {
        node == other || self.scene.is_below(node, other)
    }
}

/// Tells fast which places of a document cannot lead to a node, one above it or one below it: nearly all of a large one.
#[derive(Debug)]
pub(crate) struct Around<'v> {
    scene: &'v Scene,
    node: NodeIndex,
    /// The node's.
    path: Vec<u32>,
    /// Of aliases.
    names: HashSet<&'v str>,
}

impl Around<'_> {
    fn holds(&self, path: &NodePath) -> bool {
        match path {
            NodePath::Positions(other) => {
                let both = other.len().min(self.path.len());
                other[..both] == self.path[..both]
            }
            NodePath::Names(_) => self.scene.find(path).is_ok_and(|other| {
                other == self.node
                    || self.scene.is_below(other, self.node)
                    || self.scene.is_below(self.node, other)
            }),
        }
    }

    /// An alias's path: it may be the name of another alias.
    fn may_lead(&self, path: &NodeRef) -> bool {
        match &path.target {
            NodeTarget::Path(path) => self.holds(path),
            NodeTarget::Name { .. } | NodeTarget::Unreadable => true,
        }
    }

    fn is_named(&self, name: &str, or_node: Option<&NodePath>) -> bool {
        self.names.contains(name) || or_node.is_some_and(|path| self.holds(path))
    }

    pub(crate) fn may_be_asked_for(&self, node: &NodeRef) -> bool {
        match &node.target {
            NodeTarget::Path(path) => self.holds(path),
            NodeTarget::Name { or_node, .. } => self.is_named(&node.text, or_node.as_deref()),
            NodeTarget::Unreadable => false,
        }
    }

    pub(crate) fn may_be_used(&self, used: &Use) -> bool {
        match &used.target {
            UseTarget::Path(path) => self.holds(path),
            UseTarget::Name { name, or_node, .. } => self.is_named(name, or_node.as_deref()),
            UseTarget::Position { .. } | UseTarget::Input { .. } => false,
        }
    }
}

/// The node that one place asks for.
pub(crate) fn node_of(view: &View, node: &NodeRef) -> Option<NodeIndex> {
    let path = view.meaning.as_ref()?.outline.path_of(node)?;
    view.scene()?.find(&path).ok()
}

/// Where a node rests, as a value of a property: metres, degrees, factors.
pub(crate) fn rest_value(dialect: &Dialect, rest: &Rest, property: Property) -> EndValue {
    match property {
        Property::Translation => EndValue::Vector(rest.translation.to_array()),
        Property::Rotation => {
            EndValue::Vector(scene::angles(rest.rotation(), dialect.notation.euler).to_array())
        }
        Property::Scale => EndValue::Vector(rest.scale().to_array()),
        Property::Visibility => EndValue::Visible(rest.is_visible()),
    }
}

/// What leaves a property as it is, where values are added or multiplied.
pub(crate) fn nothing_added(property: Property) -> Option<EndValue> {
    match property {
        Property::Translation | Property::Rotation => Some(EndValue::Vector([0.0; 3])),
        Property::Scale => Some(EndValue::Vector([1.0; 3])),
        Property::Visibility => None,
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
    dialect.write_vector(&numbers.map(|number| in_unit(dialect, number, quantity)))
}

/// One number of such a row.
pub(crate) fn number(dialect: &Dialect, number: f64, quantity: Option<Quantity>) -> String {
    dialect.write_number(in_unit(dialect, number, quantity))
}

fn in_unit(dialect: &Dialect, number: f64, quantity: Option<Quantity>) -> f64 {
    match quantity {
        Some(quantity) => tidy(dialect.notation.units.of(quantity).from_base(number)),
        None => tidy(number),
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::fixture::Fixture;

    /// How many pairs of a place and a node belong together, and how many are told not to. Fails if one is both.
    pub(crate) fn told_apart(view: &View) -> [usize; 2] {
        let nodes = Nodes::of(view).expect("there is a scene");
        let mut told = [0; 2];
        for id in nodes.scene.ids() {
            let around = nodes.around(id);
            let belongs = |found: Option<NodeIndex>| {
                found.is_some_and(|found| {
                    nodes.is_at_or_below(found, id) || nodes.is_at_or_below(id, found)
                })
            };
            let uses = nodes.outline.all(|facts| &facts.uses);
            let mut pairs: Vec<(bool, bool)> = uses
                .map(|(_, used)| (belongs(nodes.of_use(used)), around.may_be_used(used)))
                .collect();
            let aliases = nodes.outline.all(|facts| &facts.aliases);
            let paths = aliases.filter_map(|(_, alias)| alias.path.as_ref());
            let channels = nodes.outline.animations().into_iter();
            let channels = channels.flat_map(|animation| animation.channels);
            let asked = channels.filter_map(|(_, channel)| channel.node.as_ref());
            pairs.extend(
                paths
                    .chain(asked)
                    .map(|node| (belongs(nodes.of_ref(node)), around.may_be_asked_for(node))),
            );
            for pair in pairs {
                match pair {
                    (true, true) => told[0] += 1,
                    (true, false) => panic!("{:?} is left out", nodes.scene[id].name),
                    (false, true) => {}
                    (false, false) => told[1] += 1,
                }
            }
        }
        told
    }

    #[test]
    fn places_that_cannot_lead_to_a_node_are_told_apart() {
        let body = r#"<aliases><alias name="mast" path="0/2"/><alias name="arm" path="0/0"/>
<alias name="arm" path="0/1"/><alias name="gone" path="7"/><alias name="none"/></aliases>
<wheels><wheel id="w" node="0/0/0"/><wheel id="v" node="arm"/></wheels>
<animations><animation id="a"><channel target="mast" property="scale" begin="0" end="1" from="1 1 1" to="2 2 2"/>
<channel target="0/1" property="scale" begin="0" end="1" from="1 1 1" to="2 2 2"/></animation></animations>"#;
        let [both, apart] = told_apart(&Fixture::rig(body).view());
        assert!(both > 20 && apart > 20, "{both} {apart}");
    }
}
