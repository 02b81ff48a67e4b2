//! Motions on the left with the motions on the right that belong to them, all of an animation at once.

use dialect::Property;
use glam::DVec3;
use scene::NodeIndex;

use crate::mirror::{is_at, mirrored, reach};
use crate::{Drive, Rig};

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

impl Rig<'_> {
    /// The pairs of one animation, left and right, which [`Rig::compared`] compares. Like [`Rig::counterparts`] for all
    /// channels at once, in time that grows with the motions and hardly faster; parts in the middle have no side and no
    /// opposite here.
    pub fn opposite_drives(&self, animation: usize) -> Vec<(&Drive, &Drive)> {
        let drives = self.drives_of(animation);
        let mut parts: Vec<&[Drive]> = Vec::with_capacity(drives.len());
        parts.extend(drives.chunk_by(|a, b| a.node == b.node));
        let places = self
            .scene
            .places_at_rest(parts.iter().map(|drives| drives[0].node));
        let by_origin = self.sides(parts.iter().copied().zip(places));
        let pairs = by_origin
            .left
            .iter()
            .filter_map(|left| Some((left.drives, by_origin.opposite(left)?)));
        let mut found: Vec<(&Drive, &Drive)> = Vec::new();
        let mut paired: Vec<NodeIndex> = Vec::new();
        for (left, right) in pairs {
            paired.extend([left[0].node, right[0].node]);
            pairs_of(left, right, &mut found);
        }
        drop(by_origin);
        // Models exported with all origins at zero are common.
        paired.sort_unstable();
        let centred = |drives| self.centred(drives);
        let is_free = |drives: &[Drive]| paired.binary_search(&drives[0].node).is_err();
        // Both are sorted by node.
        let mut rest = paired.iter().copied().peekable();
        let is_left_over = |drives: &&[Drive]| {
            let node = drives[0].node;
            while rest.next_if(|paired| *paired < node).is_some() {}
            rest.peek() != Some(&node)
        };
        let free = parts.iter().copied().filter(is_left_over);
        let free = self.sides(free.filter_map(centred));
        if free.left.is_empty() {
            return found;
        }
        let by_box = self.sides(parts.iter().copied().filter_map(centred));
        for left in &free.left {
            if let Some(right) = by_box.opposite(left).filter(|right| is_free(right)) {
                pairs_of(left.drives, right, &mut found);
            }
        }
        found
    }

    fn centred<'d>(&self, drives: &'d [Drive]) -> Option<(&'d [Drive], DVec3)> {
        Some((drives, self.rest_box(drives[0].node)?.centre()))
    }

    /// Sorts parts by side, as they are placed. They come sorted by node.
    fn sides<'d>(&self, parts: impl Iterator<Item = (&'d [Drive], DVec3)>) -> Sides<'d> {
        let axes = self.notation.axes;
        let across = DVec3::from_array(axes.right.vector());
        let forward = DVec3::from_array(axes.forward.vector());
        let (mut left, mut right) = (Vec::new(), Vec::new());
        for (drives, place) in parts {
            let (side, along) = (place.dot(across), place.dot(forward));
            if side.is_finite() && side.abs() > MIDDLE {
                let list = if side < 0.0 { &mut left } else { &mut right };
                list.push(Part {
                    drives,
                    place,
                    side,
                    along,
                });
            }
        }
        right.sort_unstable_by(|a, b| {
            let node = |part: &Part<'_>| part.drives[0].node;
            let order = a.along.total_cmp(&b.along);
            order.then_with(|| node(a).cmp(&node(b)))
        });
        Sides {
            left,
            right,
            across,
        }
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

/// Adds the motions of two parts that belong together. Both are sorted by property and begin.
fn pairs_of<'d>(
    left: &'d [Drive],
    mut right: &'d [Drive],
    pairs: &mut Vec<(&'d Drive, &'d Drive)>,
) {
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
}

/// What an animation moves of one node, and where the node is at rest.
struct Part<'d> {
    drives: &'d [Drive],
    place: DVec3,
    /// Along the axis to the right.
    side: f64,
    /// Along the axis forward.
    along: f64,
}

struct Sides<'d> {
    /// Sorted by node.
    left: Vec<Part<'d>>,
    /// Sorted from back to front, and then by node.
    right: Vec<Part<'d>>,
    /// The axis to the right.
    across: DVec3,
}

impl<'d> Sides<'d> {
    /// The part on the right that is nearest to the mirror image of one on the left, if it is near.
    fn opposite(&self, left: &Part<'_>) -> Option<&'d [Drive]> {
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
        let distance = |part: &&Part<'_>| part.place.distance(image);
        let nearest = near.min_by(|a, b| distance(a).total_cmp(&distance(b)));
        nearest.map(|part| part.drives)
    }
}
