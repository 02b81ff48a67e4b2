//! The room that a motion needs.

use scene::{Bounds, NodeIndex};

use crate::sampling::Moments;
use crate::{Axle, Pose, Rig};

/// A node that an animation moves, with what hangs on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swept {
    /// The topmost node that moves.
    pub node: NodeIndex,
    /// The box around all places where its shown meshes get, in the scene's axes. `None` if no mesh can be measured.
    pub bounds: Option<Bounds>,
    /// How far outside the box they may get between two moments that were looked at. Metres.
    pub error: f64,
}

/// The track width of an axle while an animation plays. Metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Track {
    /// The left wheel, by position in the machine.
    pub left: usize,
    /// The right wheel, by position in the machine.
    pub right: usize,
    /// At the start.
    pub start: f64,
    /// At the end.
    pub end: f64,
    /// The least on the way.
    pub least: f64,
    /// The greatest on the way.
    pub most: f64,
    /// By how much the least and the greatest may be passed between two moments that were looked at.
    pub error: f64,
}

/// All that happens on the way of an animation.
#[derive(Clone, Debug, PartialEq)]
pub struct Sweep {
    /// At how many moments it was looked at.
    pub moments: usize,
    /// In document order.
    pub swept: Vec<Swept>,
    /// From front to back.
    pub tracks: Vec<Track>,
}

impl Rig<'_> {
    /// Looks at an animation from its start to its end, all else at rest. The module `sampling` says at which moments,
    /// and what the errors mean.
    pub fn sweep(&self, animation: usize) -> Sweep {
        let moments = self.moments(animation);
        let roots = self.moved_nodes(animation);
        let mut boxes: Vec<Option<Bounds>> = vec![None; roots.len()];
        let tracks = self.tracks_at(animation, &moments, |pose| {
            for (whole, root) in boxes.iter_mut().zip(&roots) {
                let here = self.subtree_bounds(pose, *root);
                *whole = match (*whole, here) {
                    (Some(whole), Some(here)) => Some(whole.union(here)),
                    (one, other) => one.or(other),
                };
            }
        });
        let swept = roots.iter().zip(boxes).map(|(&node, bounds)| {
            let errors = self.scene.subtree(node).map(|id| moments.error_of(id));
            Swept {
                node,
                bounds,
                error: errors.fold(0.0, f64::max),
            }
        });
        Sweep {
            moments: moments.times.len(),
            swept: swept.collect(),
            tracks,
        }
    }

    /// The track widths while an animation plays, from front to back; all else at rest.
    pub fn tracks(&self, animation: usize) -> Vec<Track> {
        self.tracks_at(animation, &self.moments(animation), |_| {})
    }

    /// The same, and `look` sees every pose on the way.
    fn tracks_at(
        &self,
        animation: usize,
        moments: &Moments,
        mut look: impl FnMut(&Pose),
    ) -> Vec<Track> {
        let pairs = self.axles(self.rest());
        let mut tracks: Vec<(&Axle, Track)> = Vec::new();
        for (at, time) in moments.times.iter().enumerate() {
            let pose = self.pose(&[(animation, *time)]);
            look(&pose);
            if at == 0 {
                let started = pairs.iter().filter_map(|pair| {
                    let width = self.width_of(pair, &pose)?;
                    Some((pair, self.track(pair, width, moments)))
                });
                tracks.extend(started);
            }
            for (pair, track) in &mut tracks {
                if let Some(width) = self.width_of(pair, &pose) {
                    track.take(width);
                }
            }
        }
        tracks.into_iter().map(|(_, track)| track).collect()
    }

    fn track(&self, pair: &Axle, width: f64, moments: &Moments) -> Track {
        let wheels = [pair.left, pair.right];
        let nodes = wheels
            .into_iter()
            .filter_map(|wheel| self.wheel_node(wheel));
        Track {
            left: pair.left,
            right: pair.right,
            start: width,
            end: width,
            least: width,
            most: width,
            error: nodes.map(|node| moments.error_of(node)).sum(),
        }
    }

    /// The track width of a pair of wheels in a pose. `None` if a wheel has no node.
    pub fn width_of(&self, pair: &Axle, pose: &Pose) -> Option<f64> {
        let [left, right] = [self.wheel_node(pair.left)?, self.wheel_node(pair.right)?];
        let apart = pose.place(right) - pose.place(left);
        Some(apart.dot(self.right()).abs())
    }
}

impl Track {
    /// Takes in the width at a later moment.
    fn take(&mut self, width: f64) {
        self.end = width;
        self.least = self.least.min(width);
        self.most = self.most.max(width);
    }
}
