//! Parts on the left with the parts on the right that belong to them, all of an animation at once, and their motions.

use dialect::{Notation, Property};
use glam::DVec3;
use scene::{NodeIndex, Scene};

use crate::mirror::{is_at, mirrored, reach};
use crate::{AtRest, Drive, Rig};

/// Seconds.
const TIME_TOLERANCE: f64 = 1e-6;
/// Metres. A part nearer to the middle than this has no side.
const MIDDLE: f64 = 0.01;
/// No more parts than these are compared with one: those that stand in a heap have no clear opposite.
const MOST_COMPARED: usize = 64;

/// No more motions of one part than these are looked through for one along the same axes: so many sets of axes there are.
const MOST_TOGETHER: usize = 7;

/// Two motions of one animation: of the same property, along the same axes, in the same window of time, of parts that stand opposite
/// each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opposites<'r> {
    /// On the left.
    pub left: &'r Drive,
    /// On the right.
    pub right: &'r Drive,
    /// Whether the right part goes where the left one's mirror image does.
    pub mirror: bool,
    /// Whether both turn upright by the same angle, as steered wheels do.
    pub steer: bool,
}

/// Of some nodes those that stand opposite each other at rest, left and right: of each on the left the one on the right that
/// is nearest to its mirror image. Like [`Rig::counterparts`] for all at once, in time that grows with the nodes and hardly
/// faster; nodes in the middle have no side and no opposite here. `nodes`: in the order of the scene, each once.
pub fn opposite_nodes(
    scene: &Scene,
    notation: &Notation,
    at_rest: &AtRest,
    nodes: &[NodeIndex],
) -> Vec<(NodeIndex, NodeIndex)> {
    let places = scene.places_at_rest(nodes.iter().copied());
    let by_origin = Sides::of(notation, nodes.iter().copied().zip(places));
    let mut pairs: Vec<(NodeIndex, NodeIndex)> = Vec::with_capacity(by_origin.left.len());
    let left = by_origin.left.iter();
    pairs.extend(left.filter_map(|left| by_origin.pair(left)));
    // Models exported with all origins at zero are common.
    let mut paired: Vec<NodeIndex> = Vec::with_capacity(2 * pairs.len());
    paired.extend(pairs.iter().flat_map(|(left, right)| [*left, *right]));
    paired.sort_unstable();
    // Both are sorted.
    let mut rest = paired.iter().copied().peekable();
    let is_left_over = |node: &NodeIndex| {
        while rest.next_if(|paired| paired < node).is_some() {}
        rest.peek() != Some(node)
    };
    let centred = |node: NodeIndex| Some((node, at_rest.whole_box(scene, node)?.centre()));
    let free = nodes.iter().copied().filter(is_left_over);
    let free = Sides::of(notation, free.filter_map(centred));
    if !free.left.is_empty() {
        let by_box = Sides::of(notation, nodes.iter().copied().filter_map(centred));
        let of_free = free.left.iter().filter_map(|left| by_box.pair(left));
        let is_free = |node: &NodeIndex| paired.binary_search(node).is_err();
        pairs.extend(of_free.filter(|(_, right)| is_free(right)));
    }
    pairs
}

impl Rig<'_> {
    /// The motions of two nodes, on the left and on the right, that belong together; [`Rig::compared`] compares them.
    pub fn opposite_drives(
        &self,
        animation: usize,
        left: NodeIndex,
        right: NodeIndex,
    ) -> Vec<(&Drive, &Drive)> {
        let drives = |node| self.drives_of_node(animation, node);
        pairs_of(drives(left), drives(right))
    }

    /// Compares two that stand opposite each other.
    pub fn compared<'d>(&self, left: &'d Drive, right: &'d Drive) -> Opposites<'d> {
        let mirror = match left.property {
            Property::Visibility => left.ends == right.ends,
            _ => self.apart(left, right).1,
        };
        let steer = !mirror && self.steer(left, right);
        Opposites {
            left,
            right,
            mirror,
            steer,
        }
    }
}

/// Both are sorted by property and begin.
fn pairs_of<'d>(left: &'d [Drive], mut right: &'d [Drive]) -> Vec<(&'d Drive, &'d Drive)> {
    let mut pairs = Vec::new();
    for one in left {
        let is_before = |drive: &Drive| {
            (drive.property, drive.begin + TIME_TOLERANCE) < (one.property, one.begin)
        };
        right = &right[right.partition_point(is_before)..];
        let near = |a: f64, b: f64| (a - b).abs() <= TIME_TOLERANCE;
        let same_window = |other: &&Drive| {
            other.property == one.property
                && near(other.begin, one.begin)
                && near(other.end, one.end)
        };
        // Motions along other axes may begin at the same time.
        let mut same_axes = right.iter().take(MOST_TOGETHER);
        let other = same_axes.find(|other| other.axes == one.axes);
        if let Some(other) = other.filter(same_window) {
            pairs.push((one, other));
        }
    }
    pairs
}

/// A node, and where it is at rest.
struct Part {
    node: NodeIndex,
    place: DVec3,
    /// Along the axis to the right.
    side: f64,
    /// Along the axis forward.
    along: f64,
}

struct Sides {
    /// As they came.
    left: Vec<Part>,
    /// Sorted from back to front, and then by node.
    right: Vec<Part>,
    /// The axis to the right.
    across: DVec3,
}

impl Sides {
    /// Sorts nodes by side, as they are placed.
    fn of(notation: &Notation, nodes: impl Iterator<Item = (NodeIndex, DVec3)>) -> Self {
        let axes = notation.axes;
        let across = DVec3::from_array(axes.right.vector());
        let forward = DVec3::from_array(axes.forward.vector());
        let (mut left, mut right) = (Vec::new(), Vec::new());
        for (node, place) in nodes {
            let (side, along) = (place.dot(across), place.dot(forward));
            if side.is_finite() && side.abs() > MIDDLE {
                let list = if side < 0.0 { &mut left } else { &mut right };
                list.push(Part {
                    node,
                    place,
                    side,
                    along,
                });
            }
        }
        right.sort_unstable_by(|a: &Part, b| {
            let order = a.along.total_cmp(&b.along);
            order.then_with(|| a.node.cmp(&b.node))
        });
        Self {
            left,
            right,
            across,
        }
    }

    /// A node on the left with the one on the right that is nearest to its mirror image, if that is near.
    fn pair(&self, left: &Part) -> Option<(NodeIndex, NodeIndex)> {
        let image = mirrored(left.place, self.across, 0.0);
        let reach = reach(left.side);
        let start = self
            .right
            .partition_point(|part| part.along < left.along - reach);
        let near = self.right[start..]
            .iter()
            .take_while(|part| part.along <= left.along + reach)
            .take(MOST_COMPARED)
            .filter(|part| is_at(part.place, image, left.side));
        let distance = |part: &&Part| part.place.distance(image);
        let nearest = near.min_by(|a, b| distance(a).total_cmp(&distance(b)));
        Some((left.node, nearest?.node))
    }
}
