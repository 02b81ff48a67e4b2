//! Parts whose first motion starts elsewhere than they rest in the scene.

use dialect::{EndValue, Property, Quantity};
use glam::DVec3;
use machine::Spanned;
use scene::{Rest, Scene, rotation};
use syntax::TextEdit;

use super::super::site::Site;
use super::contested::Driven;
use super::{Moving, Nodes, Turn, measure, rounded, written};
use crate::nodes::{rest_value, row, tidy_value};
use crate::spot::value_at;
use crate::{Finding, Fix, Trust, codes};

/// Metres and factors: scenes and definitions are rounded, each in its own way.
const NEAR: f64 = 1e-3;
/// Degrees.
const NEAR_ANGLE: f64 = 0.1;

/// One finding for each property of a part, at its first motion in the animation, along each axis.
pub(super) fn check(
    site: &Site<'_>,
    scene: &Scene,
    nodes: &Nodes,
    turns: &[Turn<'_, '_>],
) -> Vec<(Driven, Finding)> {
    let mut found = Vec::new();
    for turns in turns.chunk_by(|a, b| Driven::of(a.moving) == Driven::of(b.moving)) {
        let Some(node) = nodes.get(turns[0].moving.part) else {
            continue;
        };
        let driven = Driven::of(turns[0].moving);
        // The axes along which nothing has moved it yet.
        let mut left = [true; 3];
        for Turn { moving, .. } in turns {
            let axes = moving.axes();
            let said = [0, 1, 2].map(|axis| left[axis] && axes[axis]);
            left = [0, 1, 2].map(|axis| left[axis] && !said[axis]);
            if said != [false; 3] {
                let finding = finding(site, &scene[node].rest, moving, said);
                found.extend(finding.map(|finding| (driven, finding)));
            }
            if left == [false; 3] {
                break;
            }
        }
    }
    found
}

/// `said`: the axes along which nothing has moved it before.
fn finding(site: &Site<'_>, rest: &Rest, motion: &Moving<'_>, said: [bool; 3]) -> Option<Finding> {
    let from = motion.motion.from.as_ref()?;
    let resting = rest_value(site.dialect, rest, motion.property);
    let message = message(site, rest, motion, said, (from, resting))?;
    let range = from.range + motion.start;
    let finding = codes::REST_MISMATCH.at(range, message);
    // Where references hide the members of a list, both ends have the range of the whole.
    let to = motion.motion.to.as_ref();
    let is_alone = to.is_none_or(|to| to.range != from.range)
        && motion.motion.axes.is_none()
        && !motion.motion.from_rest;
    let declared = value_at(site.view, range.start()).and_then(|spot| spot.declared);
    let repaired = declared.filter(|_| is_alone).and_then(|declared| {
        let resting = tidy_value(resting);
        site.dialect
            .write_end(&declared.value, resting, motion.property)
    });
    Some(match repaired {
        Some(repaired) => finding.fix(Fix {
            title: format!("Start where it rests: `{repaired}`"),
            trust: Trust::Review,
            edits: vec![TextEdit::replace(range, repaired)],
        }),
        None => finding,
    })
}

/// What is wrong with a motion that starts at `from`; none if that is where the node rests.
fn message(
    site: &Site<'_>,
    rest: &Rest,
    motion: &Moving<'_>,
    said: [bool; 3],
    (from, resting): (&Spanned<EndValue>, EndValue),
) -> Option<String> {
    // Most rest where they start, and nothing has to be written.
    let starts = || written(site, motion.motion, motion.property, from, motion.start);
    let label = || site.node_label(motion.node);
    let first = motion.property.as_str();
    match (from.value, resting) {
        (EndValue::Vector(start), EndValue::Vector(rests)) => {
            let is_scale = motion.property == Property::Scale;
            let start = [0, 1, 2].map(|axis| match (said[axis], motion.motion.from_rest) {
                (false, _) => rests[axis],
                (true, false) => start[axis],
                (true, true) if is_scale => rests[axis] * start[axis],
                (true, true) => rests[axis] + start[axis],
            });
            let how_far = distance(site, rest, motion.property, DVec3::from_array(start))?;
            let vector = |numbers| row(site.dialect, numbers, motion.property.quantity());
            let (label, rests) = (label(), vector(rests));
            let starts = match motion.motion.axes {
                // Along the others it stays where it rests.
                Some(_) => format!("`{}`", vector(start)),
                None => starts(),
            };
            Some(format!(
                "{label} rests at `{rests}`, but its first {first} starts at {starts}, {how_far} away: it jumps there when the animation is first played."
            ))
        }
        // Where the scene says nothing of it, a part that appears has not been hidden by anybody.
        (EndValue::Visible(start), EndValue::Visible(_)) if rest.visible == Some(!start) => {
            let (is, does) = match start {
                true => ("hidden", "appears"),
                false => ("shown", "vanishes"),
            };
            let (label, starts) = (label(), starts());
            Some(format!(
                "{label} is {is} in the scene, but its first {first} starts at {starts}: it {does} when the animation is first played."
            ))
        }
        _ => None,
    }
}

/// "0.3 m"; none if it is too little to be meant.
fn distance(site: &Site<'_>, rest: &Rest, property: Property, start: DVec3) -> Option<String> {
    match property {
        Property::Translation => {
            let metres = rest.translation.distance(start);
            (metres > NEAR).then(|| measure(site.dialect, Quantity::Length, metres))
        }
        Property::Rotation => {
            let turned = rotation(start, site.dialect.notation.euler);
            let degrees = turned.angle_between(rest.rotation()).to_degrees();
            (degrees > NEAR_ANGLE).then(|| measure(site.dialect, Quantity::Angle, degrees))
        }
        Property::Scale => {
            let factor = (rest.scale() - start).abs().max_element();
            (factor > NEAR).then(|| rounded(site.dialect, factor))
        }
        Property::Visibility => None,
    }
}
