//! Where everything stands while some animations are at some times, and what that measures.

use dialect::Quantity;
use motion::{Pose, Rig};
use serde::Serialize;

use super::{Subject, facts};
use crate::cli::measures::rounded;
use crate::cli::subject::Subject as Named;

#[derive(Debug, Serialize)]
pub(super) struct Posed {
    revision: u64,
    /// The drawn nodes that do not stand as they rest.
    moved: Vec<Moved>,
    measured: Vec<Measured>,
}

#[derive(Debug, Serialize)]
struct Moved {
    node: u32,
    visible: bool,
    matrix: [f64; 16],
}

/// A number to be read, in the dialect's unit.
#[derive(Debug, Serialize)]
struct Measured {
    /// For programs.
    key: &'static str,
    of: String,
    value: String,
}

/// `query` has times in seconds by animation, `0=1.5&2=0.25`; the others rest. Of two animations that drive the same
/// thing the later one in the query counts. None while there is no machine.
pub(super) fn of(subject: &dyn Subject, revision: u64, query: &str) -> Option<Posed> {
    let view = subject.view().ok()?;
    let file = subject.file();
    Some(of_machine(&Named::of(&file, &view).ok()?, revision, query))
}

pub(super) fn of_machine(named: &Named<'_>, revision: u64, query: &str) -> Posed {
    let rig = named.rig();
    let pose = rig.pose(&times(&rig, query));
    Posed {
        revision,
        moved: moved(&rig, &pose),
        measured: measured(named, &rig, &pose),
    }
}

fn times(rig: &Rig<'_>, query: &str) -> Vec<(usize, f64)> {
    let pairs = query.split('&').filter_map(|pair| pair.split_once('='));
    let times = pairs.filter_map(|(animation, time)| {
        let (animation, time): (usize, f64) = (animation.parse().ok()?, time.parse().ok()?);
        let is_there = animation < rig.machine.animations.len() && time.is_finite();
        is_there.then_some((animation, time))
    });
    // Nobody asks for more than each animation once.
    times.take(rig.machine.animations.len()).collect()
}

fn moved(rig: &Rig<'_>, pose: &Pose) -> Vec<Moved> {
    let rest = rig.rest();
    let drawn = facts::drawn(rig).into_iter();
    drawn
        .filter(|id| {
            let at = id.index();
            pose.world[at] != rest.world[at] || pose.visible[at] != rest.visible[at]
        })
        .map(|id| Moved {
            node: id.0,
            visible: pose.visible[id.index()],
            matrix: pose.world[id.index()].to_cols_array(),
        })
        .collect()
}

fn measured(named: &Named<'_>, rig: &Rig<'_>, pose: &Pose) -> Vec<Measured> {
    let length = |key, of: String, metres: f64| Measured {
        key,
        of,
        value: rounded(named.dialect, Quantity::Length, without_noise(metres)),
    };
    let stance = rig.stance(pose);
    let mut all: Vec<Measured> = stance
        .axles
        .iter()
        .map(|axle| {
            let of = track_label(named, axle.left, axle.right);
            length("track-width", of, axle.width)
        })
        .collect();
    if let Some(metres) = rig.outer_width(pose) {
        all.push(length(
            "width",
            "Overall width, with wheels".to_owned(),
            metres,
        ));
    }
    if let Some(size) = stance.overall {
        all.push(length("height", "Overall height".to_owned(), size.height));
        all.push(length("length", "Overall length".to_owned(), size.length));
    }
    if let Some(clearance) = stance.clearance {
        let under = named.scene.tree_path(clearance.node);
        let of = format!("Ground clearance, under {under}");
        all.push(length("clearance", of, clearance.height));
    }
    all
}

/// What the page calls the track width of two wheels.
pub(super) fn track_label(named: &Named<'_>, left: usize, right: usize) -> String {
    let (left, right) = (named.wheel_name(left), named.wheel_name(right));
    format!("Track width, {left} to {right}")
}

/// A micrometre is noise, and must not make a number negative.
pub(super) fn without_noise(metres: f64) -> f64 {
    (metres * 1e6).round() / 1e6 + 0.0
}
