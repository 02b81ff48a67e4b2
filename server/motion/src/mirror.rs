//! Channels on the left that have a counterpart on the right.

use std::collections::BTreeMap;

use dialect::Property;
use glam::{DMat4, DVec3};
use scene::NodeIndex;

use crate::drive::{Drive, Ends, Sample};
use crate::rig::Rig;

/// How far from its mirror image a part may be, relative to its distance from the middle. Models are made by hand.
const TOLERANCE: f64 = 0.05;
/// Metres; for parts near the middle.
const NEAR: f64 = 0.01;
/// How far from the mirrored travel a travel may be, relative to its length.
const TRAVEL_TOLERANCE: f64 = 0.01;
/// Seconds.
const TIME_TOLERANCE: f64 = 1e-6;
/// Parts of the way at which two motions are compared. Not one half: half a turn left ends where half a turn
/// right does.
const COMPARED_AT: [f64; 2] = [1.0 / 3.0, 1.0];

/// The channel that moves the same property of the part opposite.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Counterpart {
    /// Which of the animation's channels.
    pub channel: usize,
    /// Whether both run in the same window of time.
    pub same_window: bool,
    /// Whether the part opposite goes the mirrored way.
    pub mirrors: bool,
    /// The greatest distance between where a point of the part opposite goes and where it would go if it mirrored
    /// this one. Metres; 0 for visibility.
    pub apart: f64,
}

/// How two parts stand to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Opposite {
    Across,
    InTheMiddle,
}

/// The mirror image of a point across the plane at right angles to `right` (of length 1), at `middle` along it.
pub fn mirrored(point: DVec3, right: DVec3, middle: f64) -> DVec3 {
    point - right * (2.0 * (point.dot(right) - middle))
}

/// Whether a part stands where the mirror image of another is, that one being `side` from the middle.
pub(crate) fn is_at(part: DVec3, image: DVec3, side: f64) -> bool {
    part.distance(image) <= reach(side)
}

/// How far a part that is `side` from the middle may be from where it should be. Metres.
pub(crate) fn reach(side: f64) -> f64 {
    NEAR.max(TOLERANCE * side.abs())
}

/// The channels of one animation. There may be thousands, and of each node, too.
#[derive(Debug)]
pub struct Counterparts<'r> {
    rig: &'r Rig<'r>,
    /// What each moves.
    channels: BTreeMap<usize, Vec<&'r Drive>>,
    by_node: BTreeMap<NodeIndex, Vec<usize>>,
    /// The nodes by their origins, and those that have meshes by the middles of these.
    by_origin: Along,
    by_box: Along,
}

impl Counterparts<'_> {
    /// The channel that moves the mirrored part the mirrored way in the same window.
    pub fn mirroring(&self, channel: usize) -> Option<usize> {
        let found = self.of(channel)?;
        (found.same_window && found.mirrors).then_some(found.channel)
    }

    /// The channel that moves the same properties of the part opposite, mirrored or not: the one that comes nearest to
    /// mirroring. Judged by where the parts are at rest and by how they move in the scene; names and local axes do not
    /// count.
    pub fn of(&self, channel: usize) -> Option<Counterpart> {
        let own = self.channels.get(&channel)?;
        let with_itself = self.rig.compare_motions(channel, own, own)?;
        let opposite = self.opposite(own[0].node).into_iter();
        let opposite = opposite.flat_map(|(node, opposite)| {
            let channels = self.by_node[&node].iter();
            channels.map(move |channel| (*channel, opposite))
        });
        let found = opposite.filter_map(|(channel, opposite)| {
            // Parts in the middle are a pair only if they move apart: a mast and the lamp on it, both going up, are not.
            let must_part = opposite == Opposite::InTheMiddle;
            if must_part && with_itself.mirrors {
                return None;
            }
            let found = self
                .rig
                .compare_motions(channel, own, &self.channels[&channel])?;
            (!must_part || found.mirrors).then_some(found)
        });
        found.min_by(|a, b| {
            let order = b.same_window.cmp(&a.same_window);
            let order = order.then(a.apart.total_cmp(&b.apart));
            order.then(a.channel.cmp(&b.channel))
        })
    }

    /// The nodes that stand opposite one of them. Of thousands only those are looked at that stand as far forward.
    fn opposite(&self, own: NodeIndex) -> Vec<(NodeIndex, Opposite)> {
        let near = |places: &Along, place: DVec3| {
            let axes = self.rig.notation.axes;
            let right = DVec3::from_array(axes.right.vector());
            let image = mirrored(place, right, 0.0);
            places.near(
                image.dot(DVec3::from_array(axes.forward.vector())),
                reach(place.dot(right)),
            )
        };
        let mut found = near(&self.by_origin, self.rig.place_at_rest(own));
        if let Some(bounds) = self.rig.rest_box(own) {
            found.extend(near(&self.by_box, bounds.centre()));
            found.sort_unstable();
            found.dedup();
        }
        let found = found.into_iter();
        let found = found.filter_map(|node| Some((node, self.rig.opposite(own, node)?)));
        found.collect()
    }
}

/// Nodes by how far forward they are. One of which that is no number stands opposite none.
#[derive(Debug)]
struct Along(Vec<(f64, NodeIndex)>);

impl Along {
    fn of(forward: DVec3, places: impl Iterator<Item = (NodeIndex, DVec3)>) -> Self {
        let along = places.map(|(node, place)| (place.dot(forward), node));
        let mut sorted: Vec<_> = along.filter(|(along, _)| along.is_finite()).collect();
        sorted.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        Self(sorted)
    }

    /// Those that may be no farther than `reach` from a place that is so far forward, and perhaps others.
    fn near(&self, along: f64, reach: f64) -> Vec<NodeIndex> {
        // A little more, as both are rounded.
        let reach = reach + 1e-9 * (reach + along.abs());
        let start = self.0.partition_point(|(at, _)| *at < along - reach);
        let near = self.0[start..]
            .iter()
            .take_while(|(at, _)| *at <= along + reach);
        near.map(|(_, node)| *node).collect()
    }
}

impl Rig<'_> {
    /// The channels of an animation, to be asked for what moves the parts opposite.
    pub fn counterparts(&self, animation: usize) -> Counterparts<'_> {
        let mut channels: BTreeMap<usize, Vec<&Drive>> = BTreeMap::new();
        for drive in self.drives_of(animation) {
            channels.entry(drive.channel).or_default().push(drive);
        }
        let mut by_node: BTreeMap<NodeIndex, Vec<usize>> = BTreeMap::new();
        for (channel, drives) in &channels {
            by_node.entry(drives[0].node).or_default().push(*channel);
        }
        let forward = DVec3::from_array(self.notation.axes.forward.vector());
        let nodes = || by_node.keys().copied();
        let centre = |node| Some((node, self.rest_box(node)?.centre()));
        Counterparts {
            by_origin: Along::of(
                forward,
                nodes().map(|node| (node, self.place_at_rest(node))),
            ),
            by_box: Along::of(forward, nodes().filter_map(centre)),
            rig: self,
            channels,
            by_node,
        }
    }

    /// How two parts stand to each other at rest, by their origins or by the middles of their meshes. Origins in the
    /// middle say little: models exported with all of them at zero are common.
    fn opposite(&self, one: NodeIndex, other: NodeIndex) -> Option<Opposite> {
        if one == other {
            return None;
        }
        let right = DVec3::from_array(self.notation.axes.right.vector());
        let stand = |here: DVec3, there: DVec3| {
            let side = here.dot(right);
            is_at(there, mirrored(here, right, 0.0), side).then_some(match side.abs() > NEAR {
                true => Opposite::Across,
                false => Opposite::InTheMiddle,
            })
        };
        let by_origin = stand(self.place_at_rest(one), self.place_at_rest(other));
        let boxes = self.rest_box(one).zip(self.rest_box(other));
        let by_box = || boxes.map(|(here, there)| stand(here.centre(), there.centre()));
        match by_origin {
            Some(Opposite::Across) => by_origin,
            _ => by_box().unwrap_or(by_origin),
        }
    }

    /// `None` if the two channels do not move the same properties.
    fn compare_motions(
        &self,
        channel: usize,
        own: &[&Drive],
        theirs: &[&Drive],
    ) -> Option<Counterpart> {
        if own.len() != theirs.len() {
            return None;
        }
        let mut result = Counterpart {
            channel,
            same_window: true,
            mirrors: true,
            apart: 0.0,
        };
        for (own, their) in own.iter().zip(theirs) {
            if own.property != their.property {
                return None;
            }
            let near = |a: f64, b: f64| (a - b).abs() <= TIME_TOLERANCE;
            result.same_window &= near(own.begin, their.begin) && near(own.end, their.end);
            if own.property == Property::Visibility {
                result.mirrors &= own.ends == their.ends;
                continue;
            }
            let (apart, mirrors) = self.apart(own, their);
            result.apart = result.apart.max(apart);
            result.mirrors &= own.easing == their.easing && mirrors;
        }
        Some(result)
    }

    /// How far the points around a part are at most from where mirroring would take them, and whether that is little
    /// for the way they go.
    pub(crate) fn apart(&self, own: &Drive, their: &Drive) -> (f64, bool) {
        let shifts = self.shift(own).zip(self.shift(their));
        let (apart, way) = match shifts {
            Some((own, their)) => self.shifts_apart(own, their),
            None => self.points_apart(own, their),
        };
        (apart, apart <= (TRAVEL_TOLERANCE * way).max(1e-6))
    }

    /// How far it is at most from where the second shift takes a point to where the mirrored first one would, and how
    /// long the first one is: each takes all points the same way, and the whole of it is more than any part.
    fn shifts_apart(&self, own: DVec3, their: DVec3) -> (f64, f64) {
        let right = DVec3::from_array(self.notation.axes.right.vector());
        (their.distance(mirrored(own, right, 0.0)), own.length())
    }

    /// The same for motions of any sort, by some points around the part.
    fn points_apart(&self, own: &Drive, their: &Drive) -> (f64, f64) {
        let right = DVec3::from_array(self.notation.axes.right.vector());
        let around = match self.rest_box(own.node) {
            Some(bounds) => bounds.centre(),
            None => self.place_at_rest(own.node),
        };
        let points = [DVec3::ZERO, DVec3::X, DVec3::Y, DVec3::Z].map(|offset| around + offset);
        let (mut apart, mut way) = (0.0_f64, 0.0_f64);
        for (own, their) in self
            .displacements(own)
            .iter()
            .zip(self.displacements(their))
        {
            for point in points {
                let goes = own.transform_point3(point);
                let opposite = their.transform_point3(mirrored(point, right, 0.0));
                apart = apart.max(opposite.distance(mirrored(goes, right, 0.0)));
                way = way.max(goes.distance(point));
            }
        }
        (apart, way)
    }

    /// Whether two parts turn upright by the same angle, as steered wheels do.
    pub(crate) fn steer(&self, own: &Drive, their: &Drive) -> bool {
        if own.property != Property::Rotation {
            return false;
        }
        let up = DVec3::from_array(self.notation.axes.up.vector());
        let mut both = self
            .displacements(own)
            .into_iter()
            .zip(self.displacements(their));
        both.all(|(own, their)| {
            let turned = |matrix: &DMat4, axis: DVec3| matrix.transform_vector3(axis);
            let same = |axis| turned(&own, axis).abs_diff_eq(turned(&their, axis), 1e-6);
            turned(&own, up).abs_diff_eq(up, 1e-6) && DVec3::AXES.into_iter().all(same)
        })
    }

    /// The way of a translation in the scene, all else at rest. `None` for other motions, and for a part that is scaled
    /// to nothing or has no numbers.
    fn shift(&self, drive: &Drive) -> Option<DVec3> {
        let Ends::Vectors { from, to } = drive.ends else {
            return None;
        };
        if drive.property != Property::Translation {
            return None;
        }
        let node = &self.scene[drive.node];
        let (offset, size) = match node.parent {
            Some(parent) => {
                let parent = self.world_at_rest(parent);
                (parent.transform_vector3(to - from), parent.determinant())
            }
            None => (to - from, 1.0),
        };
        let size = size * node.rest.scale().element_product();
        (offset.is_finite() && size.is_finite() && size != 0.0).then_some(offset)
    }

    /// From where a point of the part is at the first end of a motion to where it is when each of [`COMPARED_AT`] is
    /// done, in the scene, all else at rest.
    fn displacements(&self, drive: &Drive) -> [DMat4; COMPARED_AT.len()] {
        let Ends::Vectors { from, to } = drive.ends else {
            return [DMat4::IDENTITY; _];
        };
        let node = &self.scene[drive.node];
        let parent = node
            .parent
            .map_or(DMat4::IDENTITY, |parent| self.world_at_rest(parent));
        let world = |value: DVec3| {
            let mut rest = node.rest.clone();
            drive.apply(Sample::Vector(value), self.notation.euler, &mut rest);
            parent * rest.matrix()
        };
        let first = world(from);
        // A part that is scaled to nothing has no points to follow.
        if first.determinant() == 0.0 {
            return [DMat4::IDENTITY; _];
        }
        let back = first.inverse();
        COMPARED_AT.map(|part| world(from.lerp(to, part)) * back)
    }
}

#[cfg(test)]
mod tests;
