//! Wheels that stay behind when a control moves what they are fixed to.

use foldhash::{HashMap, HashSet};
use std::sync::{Arc, OnceLock};

use ::motion::AtRest;
use dialect::Quantity;
use machine::{
    Control, Entry, Facts, NodeRef, PORTIONS_AT_ONCE, Sort, Spanned, Wheel, WheelRef, WheelTarget,
    in_parallel,
};
use scene::{NodeIndex, Scene};
use syntax::TextRange;

use super::super::gravest::Gravest;
use super::super::index::{Index, Place};
use super::super::site::Site;
use super::{Located, Nodes, Resolved, measure, rig};
use crate::finding::short;
use crate::{Finding, codes};

/// Metres: a wheel whose node goes less far is not left behind, it only turns.
const LEFT: f64 = 1e-3;
/// Parts of an animation at which wheels are looked for.
const LOOKED_AT: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];
/// So many wheels that a control leaves behind are told by name.
const LISTED: usize = 8;

/// What is known of a document's wheels and of the controls that should carry them.
#[derive(Debug, Default)]
pub(super) struct Wheels {
    /// What the portions say that have wheels.
    facts: Vec<(u64, Arc<Facts>)>,
    all: Vec<Fixed>,
    /// By name: the position of the first that has it. Once a control asks for one: there may be thousands of wheels.
    by_name: OnceLock<HashMap<Arc<str>, usize>>,
    /// By node and then by position.
    by_node: Vec<(NodeIndex, usize)>,
    /// By animation, as far as controls ask for it: several may play the same.
    taken: HashMap<Place, Arc<Taken>>,
    controls: HashMap<Place, Known>,
}

/// A wheel.
#[derive(Debug, PartialEq)]
struct Fixed {
    place: Place,
    node: Option<NodeIndex>,
}

/// What is known of one control.
#[derive(Debug)]
struct Known {
    facts: Arc<Facts>,
    animation: Option<Place>,
    carried: Arc<Carried>,
    left: Left,
}

/// The wheels on what an animation moves.
#[derive(Debug, Default)]
struct Taken {
    /// By position, sorted.
    all: Vec<(usize, NodeIndex)>,
    /// Those of them that do not just turn, and how far they go at most. Metres. Looked for when some control does not
    /// carry all: posing thousands of wheels takes milliseconds.
    away: OnceLock<Vec<(usize, f64)>>,
}

/// The wheels that a control leaves behind.
#[derive(Debug, Default)]
struct Left {
    /// The first [`LISTED`] of them, by position, and how far at most. Metres.
    first: Vec<(usize, f64)>,
    count: usize,
}

/// What the wheels have to do with.
pub(super) struct Context<'c, 'v> {
    pub(super) site: &'c Site<'v>,
    pub(super) animations: &'c [Located<'v>],
    /// The animations that have changed.
    pub(super) changed: &'c HashSet<Place>,
    /// The labels of the entries that ask for nodes by names that mean another node than before.
    pub(super) affected: &'c HashSet<u64>,
    /// The topmost nodes that an animation moves.
    pub(super) moved: &'c dyn Fn(Place) -> Vec<NodeIndex>,
    pub(super) at_rest: &'c Arc<AtRest>,
}

/// The wheels that a control says it carries.
#[derive(Debug, Default)]
struct Carried {
    /// By position, sorted, each once.
    wheels: Vec<usize>,
    /// How many of its words mean no wheel.
    misnamed: usize,
}

/// Of several animations of one name, the first.
fn by_name<'l, 'v>(animations: &'l [Located<'v>]) -> HashMap<&'l str, &'l Located<'v>> {
    let mut by_name = HashMap::default();
    for animation in animations {
        if let Some(name) = animation.name() {
            by_name.entry(name).or_insert(animation);
        }
    }
    by_name
}

impl Wheels {
    /// Takes in what has changed.
    pub(super) fn update(
        &mut self,
        context: &Context<'_, '_>,
        index: &mut Index,
        nodes: &mut Nodes,
        resolved: &mut Resolved,
    ) {
        let site = context.site;
        let Some(scene) = site.scene else {
            *self = Self::default();
            return;
        };
        self.renew(site, scene, index, context.affected);
        for animation in context.changed {
            self.taken.remove(animation);
        }
        if self.taken.len() > 2 * context.animations.len() {
            // Most are of the past.
            self.taken.clear();
        }
        let mut before = std::mem::take(&mut self.controls);
        if self.all.is_empty() {
            return;
        }
        let by_name = by_name(context.animations);
        for (place, entry, control) in controls(site) {
            let name = control.animation.as_ref();
            let played = name.and_then(|name| by_name.get(&*name.value).copied());
            let animation = played.map(|animation| animation.place);
            let is_changed =
                animation.is_some_and(|animation| context.changed.contains(&animation));
            let known = before.remove(&place).filter(|known| {
                Arc::ptr_eq(&known.facts, &entry.facts) && !context.affected.contains(&entry.label)
            });
            let carried = match known {
                Some(known) if known.animation == animation && !is_changed => {
                    self.controls.insert(place, known);
                    continue;
                }
                Some(known) => known.carried,
                None => Arc::new(self.carried(control, scene, index)),
            };
            let left = match played {
                Some(played) if carries(site, control) => {
                    let by_index = (&mut *nodes, &mut *resolved);
                    self.left(context, index, by_index, played, &carried)
                }
                _ => Left::default(),
            };
            let facts = entry.facts.clone();
            let known = Known {
                facts,
                animation,
                carried,
                left,
            };
            self.controls.insert(place, known);
        }
    }

    /// Looks the wheels up again if they may have changed, and if they have, forgets all that depends on them.
    fn renew(&mut self, site: &Site<'_>, scene: &Scene, index: &Index, affected: &HashSet<u64>) {
        let with_wheels = || site.outline.saying(Sort::Wheels).map(|(_, entry)| entry);
        let same = |(entry, (label, facts)): (&Entry, &(u64, Arc<Facts>))| {
            entry.label == *label && Arc::ptr_eq(&entry.facts, facts) && !affected.contains(label)
        };
        if with_wheels().count() == self.facts.len() && with_wheels().zip(&self.facts).all(same) {
            return;
        }
        let entries: Vec<&Entry> = with_wheels().collect();
        let nodes = in_parallel(entries.len(), PORTIONS_AT_ONCE, |nth| {
            let wheels = entries[nth].facts.wheels.iter();
            let nodes = wheels.map(|wheel| node_of(scene, index, wheel.node.as_ref()?));
            nodes.collect::<Vec<_>>()
        });
        let count = entries.iter().map(|entry| entry.facts.wheels.len()).sum();
        let mut now = Self::default();
        now.all.reserve_exact(count);
        now.by_node.reserve_exact(count);
        for (entry, nodes) in entries.into_iter().zip(nodes) {
            now.facts.push((entry.label, entry.facts.clone()));
            for (at, node) in nodes.into_iter().enumerate() {
                let place = Place {
                    label: entry.label,
                    at,
                };
                let position = now.all.len();
                now.by_node.extend(node.map(|node| (node, position)));
                now.all.push(Fixed { place, node });
            }
        }
        now.by_node.sort_unstable();
        if now.all == self.all && now.names().eq(self.names()) {
            self.facts = now.facts;
        } else {
            *self = now;
        }
    }

    /// By position.
    fn names(&self) -> impl Iterator<Item = Option<&Arc<str>>> {
        let wheels = self.facts.iter().flat_map(|(_, facts)| &facts.wheels);
        wheels.map(|wheel| wheel.name.as_ref().map(|name| &name.value))
    }

    fn named(&self, name: &str) -> Option<usize> {
        let by_name = self.by_name.get_or_init(|| {
            let mut by_name = HashMap::default();
            for (position, name) in self.names().enumerate() {
                if let Some(name) = name {
                    by_name.entry(name.clone()).or_insert(position);
                }
            }
            by_name
        });
        by_name.get(name).copied()
    }

    fn carried(&self, control: &Control, scene: &Scene, index: &Index) -> Carried {
        // None: it names nothing. Some(None): a node without a wheel, which is a sound name, and no other check looks at it.
        let meant = |word: &WheelRef| match &word.target {
            WheelTarget::Name(name) => self.named(name).map(Some),
            WheelTarget::Position(index) => usize::try_from(*index)
                .ok()
                .filter(|index| *index < self.all.len())
                .map(Some),
            WheelTarget::Node(node) => Some(self.on(node_of(scene, index, node)?)),
        };
        let mut carried = Carried::default();
        for word in &control.wheels {
            match meant(word) {
                Some(wheel) => carried.wheels.extend(wheel),
                None => carried.misnamed += 1,
            }
        }
        carried.wheels.sort_unstable();
        carried.wheels.dedup();
        carried
    }

    /// The first wheel on a node.
    fn on(&self, node: NodeIndex) -> Option<usize> {
        let at = self.by_node.partition_point(|(known, _)| *known < node);
        let (known, wheel) = self.by_node.get(at)?;
        (*known == node).then_some(*wheel)
    }

    /// The wheels that an animation takes away from those who carry only these.
    fn left(
        &mut self,
        context: &Context<'_, '_>,
        index: &mut Index,
        by_index: (&mut Nodes, &mut Resolved),
        animation: &Located<'_>,
        carried: &Carried,
    ) -> Left {
        let taken = self.taken(context, animation);
        if !carried.misses_some(&taken) {
            return Left::default();
        }
        let away = || far_away(context, index, by_index, animation, &taken.all);
        carried.left_of(taken.away.get_or_init(away))
    }

    /// The wheels on what an animation moves.
    fn taken(&mut self, context: &Context<'_, '_>, animation: &Located<'_>) -> Arc<Taken> {
        if let Some(known) = self.taken.get(&animation.place) {
            return known.clone();
        }
        let mut wheels: Vec<(usize, NodeIndex)> = Vec::new();
        if let Some(scene) = context.site.scene {
            // A node and what hangs on it stand together, and the roots are in the order of the scene.
            let mut rest = self.by_node.as_slice();
            for root in (context.moved)(animation.place) {
                let end = scene[root].end;
                let (_, from) = split_near(rest, |(node, _)| *node < root);
                let (here, behind) = split_near(from, |(node, _)| *node < end);
                wheels.extend(here.iter().map(|(node, wheel)| (*wheel, *node)));
                rest = behind;
            }
        }
        wheels.sort_unstable();
        let taken = Arc::new(Taken {
            all: wheels,
            away: OnceLock::new(),
        });
        self.taken.insert(animation.place, taken.clone());
        taken
    }

    pub(super) fn findings(&self, site: &Site<'_>, found: &mut Gravest) {
        for (place, known) in &self.controls {
            if known.left.count > 0 {
                found.extend(self.finding(site, *place, known));
            }
        }
    }

    fn finding(&self, site: &Site<'_>, place: Place, known: &Known) -> Option<Finding> {
        let entry = site.outline.labelled(place.label)?;
        let played = entry.facts.controls.get(place.at)?.animation.as_ref()?;
        let wheel = |index: usize| self.wheel(site, index);
        let label = |index: usize| match wheel(index).and_then(|(_, wheel)| wheel.label()) {
            Some(name) => format!("`{}`", short(name)),
            None => format!("number {}", index + 1),
        };
        let listed: Vec<String> = known
            .left
            .first
            .iter()
            .map(|(wheel, away)| {
                format!(
                    "{} ({})",
                    label(*wheel),
                    measure(site.dialect, Quantity::Length, *away)
                )
            })
            .collect();
        let more = match known.left.count.saturating_sub(listed.len()) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let (what, stays) = if known.left.count == 1 {
            ("a wheel", "does not follow")
        } else {
            ("wheels", "do not follow")
        };
        let message = format!(
            "`{}` moves {what} that {stays}: {}{more}. Let this control carry what it moves.",
            played.value,
            listed.join(", ")
        );
        let mut finding = codes::WHEEL_LEFT_BEHIND.at(played.range + entry.start(), message);
        for (index, _) in known.left.first.iter().take(4) {
            let Some((entry, wheel)) = wheel(*index) else {
                continue;
            };
            let name = wheel.name.as_ref().map(|name| name.range);
            let node = wheel.node.as_ref().map(|node| node.range);
            let range = name.or(node).unwrap_or(wheel.element);
            finding = finding.see(range + entry.start(), "left behind");
        }
        if let Some(range) = known
            .animation
            .and_then(|animation| name_of(site, animation))
            .filter(|range| *range != finding.range)
        {
            finding = finding.see(range, "moved by this animation");
        }
        Some(finding)
    }

    fn wheel<'v>(&self, site: &Site<'v>, index: usize) -> Option<(&'v Entry, &'v Wheel)> {
        let place = self.all.get(index)?.place;
        let entry = site.outline.labelled(place.label)?;
        Some((entry, entry.facts.wheels.get(place.at)?))
    }
}

impl Carried {
    /// Whether some wheels on moved nodes are not carried. One that is named wrongly is one mistake, and it is reported as
    /// that.
    fn misses_some(&self, taken: &Taken) -> bool {
        taken.all.len() - self.count(&taken.all) > self.misnamed
    }

    /// Those of the wheels that go away which are not carried.
    fn left_of(&self, away: &[(usize, f64)]) -> Left {
        let is_left = |(wheel, _): &&(usize, f64)| self.wheels.binary_search(wheel).is_err();
        Left {
            count: away.len() - self.count(away),
            first: away.iter().filter(is_left).take(LISTED).copied().collect(),
        }
    }

    /// How many of some wheels, which are sorted, are carried. There may be thousands of controls that carry none of
    /// thousands of wheels, or one that carries all.
    fn count<T>(&self, wheels: &[(usize, T)]) -> usize {
        let mut rest = wheels;
        let is_among = |mine: &&usize| {
            let is_before = |(wheel, _): &(usize, T)| wheel < *mine;
            let mut end = 1;
            while rest.get(end).is_some_and(is_before) {
                end *= 2;
            }
            let near = &rest[..rest.len().min(end + 1)];
            rest = &rest[near.partition_point(is_before)..];
            rest.first().is_some_and(|(wheel, _)| wheel == *mine)
        };
        self.wheels.iter().filter(is_among).count()
    }
}

fn node_of(scene: &Scene, index: &Index, node: &NodeRef) -> Option<NodeIndex> {
    scene.find(index.path_of(node)?).ok()
}

fn name_of(site: &Site<'_>, animation: Place) -> Option<TextRange> {
    let entry = site.outline.labelled(animation.label)?;
    let animation = entry.facts.animations.get(animation.at)?;
    let name: &Spanned<Arc<str>> = animation.name.as_ref()?;
    Some(name.range + entry.start())
}

fn controls<'v>(site: &Site<'v>) -> impl Iterator<Item = (Place, &'v Entry, &'v Control)> {
    site.outline.saying(Sort::Controls).flat_map(|(_, entry)| {
        let controls = entry.facts.controls.iter().enumerate();
        controls.map(move |(at, control)| {
            let place = Place {
                label: entry.label,
                at,
            };
            (place, entry, control)
        })
    })
}

/// A dialect whose controls cannot carry wheels leaves nobody a choice.
fn carries(site: &Site<'_>, control: &Control) -> bool {
    let role = site.dialect.roles.controls.get(control.role);
    role.is_some_and(|role| role.wheels.is_some())
}

/// Those of the wheels that an animation takes away from where they rest, and how far at most.
fn far_away(
    context: &Context<'_, '_>,
    index: &mut Index,
    (nodes, resolved): (&mut Nodes, &mut Resolved),
    animation: &Located<'_>,
    wheels: &[(usize, NodeIndex)],
) -> Vec<(usize, f64)> {
    let (site, Some(scene), false) = (context.site, context.site.scene, wheels.is_empty()) else {
        return Vec::new();
    };
    let channels = animation.channels(site, index, resolved);
    nodes.look_up(scene, index);
    let rig = rig(
        site,
        scene,
        nodes,
        channels.iter().enumerate().collect(),
        context.at_rest,
    );
    let motions = channels.iter().flat_map(|at| &at.channel.motions);
    let ends = motions.filter_map(|motion| Some(motion.window.end.as_ref()?.value));
    let last_end = ends.fold(0.0, f64::max);
    let written = animation.head.duration.as_ref();
    let length = written.map_or(last_end, |duration| duration.value);
    let on: Vec<NodeIndex> = wheels.iter().map(|(_, node)| *node).collect();
    let mut away = vec![0.0_f64; on.len()];
    for part in LOOKED_AT {
        let places = rig.places(&[(0, part * length)], &on);
        for (away, (place, node)) in away.iter_mut().zip(places.iter().zip(&on)) {
            *away = away.max(place.distance(rig.place_at_rest(*node)));
        }
    }
    let wheels = wheels
        .iter()
        .zip(away)
        .map(|((wheel, _), away)| (*wheel, away));
    wheels.filter(|(_, away)| *away > LEFT).collect()
}

/// Parts a list behind the things that come first. In time with the logarithm of how many these are, since mostly they are
/// few of many.
fn split_near<T>(all: &[T], comes_first: impl Fn(&T) -> bool) -> (&[T], &[T]) {
    let mut near = 1;
    while all.get(near - 1).is_some_and(&comes_first) {
        near *= 2;
    }
    let near = &all[..near.min(all.len())];
    all.split_at(near.partition_point(comes_first))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn carried_wheels_are_counted_whether_there_are_few_or_many() {
        let sets: Vec<Vec<usize>> = (0..200_usize)
            .map(|seed| {
                let density = 1 + seed % 13;
                let chosen = |n: &usize| ((n * 7919 + seed * 104_729) % 97).is_multiple_of(density);
                (0..seed).filter(chosen).collect()
            })
            .collect();
        for (at, wheels) in sets.iter().enumerate() {
            let carried = Carried {
                wheels: wheels.clone(),
                misnamed: 0,
            };
            for others in [&sets[at / 2], &sets[199 - at], &sets[199]] {
                let with_distance: Vec<(usize, f64)> =
                    others.iter().map(|wheel| (*wheel, 1.0)).collect();
                let is_carried = |wheel: &&usize| wheels.contains(wheel);
                let expected = others.iter().filter(is_carried).count();
                assert_eq!(carried.count(&with_distance), expected);
                assert_eq!(
                    carried.left_of(&with_distance).count,
                    others.len() - expected
                );
            }
        }
    }
}
