//! Parts whose first motion starts elsewhere than they rest in the scene.

use dialect::{EndValue, Property, Quantity};
use foldhash::HashMap;
use glam::DVec3;
use scene::{Rest, Scene, rotation};
use syntax::TextEdit;

use super::super::site::Site;
use super::contested::Driven;
use super::{Moving, Nodes, measure, rounded, written};
use crate::nodes::{rest_value, row, tidy_value};
use crate::spot::value_at;
use crate::{Finding, Fix, Trust, codes};

/// Metres and factors: scenes and definitions are rounded, each in its own way.
const NEAR: f64 = 1e-3;
/// Degrees.
const NEAR_ANGLE: f64 = 0.1;

/// One finding for each property of a part, at its first motion in the animation. Showing and hiding is left out: most
/// formats of scenes cannot say that a node is hidden.
pub(super) fn check(
    site: &Site<'_>,
    scene: &Scene,
    nodes: &Nodes,
    moving: &[Moving<'_>],
) -> Vec<(Driven, Finding)> {
    let mut first: HashMap<Driven, &Moving<'_>> = HashMap::default();
    for motion in moving {
        let known = first.entry(Driven::of(motion)).or_insert(motion);
        if motion.begin < known.begin {
            *known = motion;
        }
    }
    let suspects = first.into_iter().filter_map(|(driven, motion)| {
        let rest = &scene[nodes.get(motion.part)?].rest;
        Some((driven, finding(site, rest, motion)?))
    });
    suspects.collect()
}

fn finding(site: &Site<'_>, rest: &Rest, motion: &Moving<'_>) -> Option<Finding> {
    let from = motion.motion.from.as_ref()?;
    let EndValue::Vector(start) = from.value else {
        return None;
    };
    let resting = rest_value(site.dialect, rest, motion.property);
    let EndValue::Vector(rests) = resting else {
        return None;
    };
    // Along axes that nothing is said of it stays.
    let said = motion.motion.axes.unwrap_or([true; 3]);
    let start = [0, 1, 2].map(|axis| if said[axis] { start[axis] } else { rests[axis] });
    let how_far = distance(site, rest, motion.property, DVec3::from_array(start))?;
    let range = from.range + motion.start;
    let message = format!(
        "{} rests at `{}`, but its first {} starts at `{}`, {how_far} away: it jumps there when the animation is first played.",
        site.node_label(motion.node),
        row(site.dialect, rests, motion.property.quantity()),
        motion.property.as_str(),
        written(site, motion.motion, motion.property, from, motion.start),
    );
    let finding = codes::REST_MISMATCH.at(range, message);
    // Where references hide the members of a list, both ends have the range of the whole.
    let is_alone = motion
        .motion
        .to
        .as_ref()
        .is_none_or(|to| to.range != from.range)
        && motion.motion.axes.is_none();
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

/// "0.3 m"; none if it is too little to be meant.
fn distance(site: &Site<'_>, rest: &Rest, property: Property, start: DVec3) -> Option<String> {
    match property {
        Property::Translation => {
            let metres = rest.translation.distance(start);
            (metres > NEAR).then(|| measure(site.dialect, Quantity::Length, metres))
        }
        Property::Rotation => {
            let turned = rotation(start, site.dialect.notation.euler);
            let degrees = turned.angle_between(rest.rotation).to_degrees();
            (degrees > NEAR_ANGLE).then(|| measure(site.dialect, Quantity::Angle, degrees))
        }
        Property::Scale => {
            let factor = (rest.scale - start).abs().max_element();
            (factor > NEAR).then(|| rounded(site.dialect, factor))
        }
        Property::Visibility => None,
    }
}
