//! What there is to draw of one pose, in metres along the machine's own directions.

use glam::DVec3;
use motion::{Axle, Overall, Pose, Rig};
use scene::{Bounds, NodeIndex};

/// More boxes than this would be one blot.
pub(super) const MOST_BOXES: usize = 1500;

/// To the right, up, forward.
pub(super) type Place = [f64; 3];

/// A box with its least and greatest corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Block {
    pub(super) least: Place,
    pub(super) most: Place,
    pub(super) is_moved: bool,
}

/// A wheel stands across the machine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tyre {
    pub(super) centre: Place,
    pub(super) radius: f64,
    pub(super) width: f64,
}

/// One pose.
#[derive(Debug)]
pub(super) struct Sketch {
    pub(super) name: String,
    pub(super) blocks: Vec<Block>,
    pub(super) tyres: Vec<Tyre>,
    pub(super) axles: Vec<(Axle, [Place; 2])>,
    pub(super) overall: Option<(Overall, Block)>,
    /// How many boxes there are too many.
    pub(super) left_out: usize,
}

/// Of a wheel of which the definition does not say it. Metres.
const RADIUS: f64 = 0.3;
const WIDTH: f64 = 0.2;

impl Sketch {
    pub(super) fn of(rig: &Rig<'_>, pose: &Pose, moved: &[NodeIndex], name: &str) -> Self {
        let own = Own::of(rig);
        let mut blocks: Vec<Block> = rig
            .scene
            .ids()
            .filter(|id| pose.visible[id.index()])
            .filter_map(|id| {
                let bounds = pose.mesh_box(rig.scene, id)?;
                let is_moved = moved
                    .iter()
                    .any(|root| *root == id || rig.scene.is_below(id, *root));
                Some(own.block(bounds, is_moved))
            })
            .collect();
        let size = |block: &Block| -> f64 {
            let sides = (0..3).map(|axis| block.most[axis] - block.least[axis]);
            sides.sum()
        };
        let left_out = blocks.len().saturating_sub(MOST_BOXES);
        if left_out > 0 {
            blocks.sort_by(|a, b| size(b).total_cmp(&size(a)));
            blocks.truncate(MOST_BOXES);
        }
        // What moves lies on top.
        blocks.sort_by_key(|block| block.is_moved);
        let place = |wheel: usize| {
            let place = pose.place(rig.wheel_node(wheel)?);
            place.is_finite().then(|| own.place(place))
        };
        let tyres = rig.machine.wheels.iter().enumerate();
        let tyres = tyres.filter_map(|(at, wheel)| {
            let sound = |size: Option<f64>| size.filter(|size| *size > 0.0 && *size < 1e6);
            Some(Tyre {
                centre: place(at)?,
                radius: sound(wheel.radius).unwrap_or(RADIUS),
                width: sound(wheel.width).unwrap_or(WIDTH),
            })
        });
        let axles = rig.axles(pose).into_iter();
        let axles = axles.filter_map(|axle| Some((axle, [place(axle.left)?, place(axle.right)?])));
        let bounds = rig.bounds(pose).map(|bounds| own.block(bounds, false));
        Self {
            name: name.to_owned(),
            blocks,
            tyres: tyres.collect(),
            axles: axles.collect(),
            overall: rig.overall(pose).zip(bounds),
            left_out,
        }
    }

    /// The box around all that is drawn.
    pub(super) fn around(&self) -> Option<Block> {
        let tyres = self.tyres.iter().map(|tyre| {
            let reach = [tyre.width / 2.0, tyre.radius, tyre.radius];
            Block {
                least: std::array::from_fn(|axis| tyre.centre[axis] - reach[axis]),
                most: std::array::from_fn(|axis| tyre.centre[axis] + reach[axis]),
                is_moved: false,
            }
        });
        let all = self.blocks.iter().copied().chain(tyres);
        all.reduce(|a, b| Block {
            least: std::array::from_fn(|axis| a.least[axis].min(b.least[axis])),
            most: std::array::from_fn(|axis| a.most[axis].max(b.most[axis])),
            is_moved: false,
        })
    }
}

/// The machine's own directions.
struct Own([DVec3; 3]);

impl Own {
    fn of(rig: &Rig<'_>) -> Self {
        let axes = rig.notation.axes;
        Self([axes.right, axes.up, axes.forward].map(|way| DVec3::from_array(way.vector())))
    }

    fn place(&self, place: DVec3) -> Place {
        self.0.map(|way| place.dot(way))
    }

    fn block(&self, bounds: Bounds, is_moved: bool) -> Block {
        let (one, other) = (self.place(bounds.min), self.place(bounds.max));
        Block {
            least: std::array::from_fn(|axis| one[axis].min(other[axis])),
            most: std::array::from_fn(|axis| one[axis].max(other[axis])),
            is_moved,
        }
    }
}
