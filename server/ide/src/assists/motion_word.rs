//! A word for what some channels do, to put into a name: `spread`, `raise`.

use super::{parts::Parts, site::Site};
use dialect::Property;
use glam::DVec3;
use motion::{Drive, Rig, Travel};

/// Metres: what is no farther apart is in one place.
const SAME_PLACE: f64 = 1e-6;

/// A word for the motion of some channels together.
pub(crate) fn motion_word(site: &Site<'_>, parts: &Parts) -> &'static str {
    let Some(rig) = &site.rig else {
        return by_property(site, parts);
    };
    let drives: Vec<&Drive> = parts
        .channels
        .iter()
        .flat_map(|channel| rig.drives_of_channel(parts.animation, *channel))
        .filter(|drive| drive.changes())
        .collect();
    let Some(first) = drives.first() else {
        return by_property(site, parts);
    };
    let property = first.property;
    if drives.iter().any(|drive| drive.property != property) {
        return "move";
    }
    match property {
        Property::Translation => translation(rig, &drives),
        Property::Rotation => rotation(rig, &drives),
        Property::Scale => "stretch",
        Property::Visibility => visibility(rig, &drives),
    }
}

fn by_property(site: &Site<'_>, parts: &Parts) -> &'static str {
    let mut properties: Vec<Property> = parts
        .channels_of(site)
        .iter()
        .flat_map(|channel| channel.motions.iter().filter_map(|motion| motion.property))
        .collect();
    properties.dedup();
    match properties[..] {
        [Property::Rotation] => "turn",
        [Property::Scale] => "stretch",
        [Property::Visibility] => "show",
        _ => "move",
    }
}

/// The way all drives of a node go together, in the scene's axes.
fn offsets(rig: &Rig<'_>, drives: &[&Drive]) -> Vec<(DVec3, DVec3)> {
    let mut sums: Vec<(scene::NodeIndex, DVec3)> = Vec::new();
    for drive in drives {
        let Travel::Distance { offset, .. } = rig.travel(drive) else {
            continue;
        };
        match sums.iter_mut().find(|(node, _)| *node == drive.node) {
            Some((_, sum)) => *sum += offset,
            None => sums.push((drive.node, offset)),
        }
    }
    let rest = rig.rest();
    sums.into_iter()
        .map(|(node, sum)| (rest.place(node), sum))
        .collect()
}

fn translation(rig: &Rig<'_>, drives: &[&Drive]) -> &'static str {
    let axes = rig.notation.axes;
    let [right, up, forward] =
        [axes.right, axes.up, axes.forward].map(|axis| DVec3::from_array(axis.vector()));
    let offsets = offsets(rig, drives);
    let total: DVec3 = offsets.iter().map(|(_, offset)| *offset).sum();
    let total_length: f64 = offsets.iter().map(|(_, offset)| offset.length()).sum();
    // What comes back to where it was goes no way.
    if total_length < SAME_PLACE {
        return "move";
    }
    // Parts that go opposite ways take each other's way back.
    if offsets.len() > 1 && total.length() < 0.5 * total_length {
        let outward: f64 = offsets
            .iter()
            .map(|(place, offset)| offset.dot(right) * place.dot(right).signum())
            .sum();
        return if outward >= 0.0 { "spread" } else { "narrow" };
    }
    let along = [total.dot(right), total.dot(up), total.dot(forward)];
    let [sideways, upward, ahead] = along.map(f64::abs);
    if upward >= sideways && upward >= ahead {
        if along[1] >= 0.0 { "raise" } else { "lower" }
    } else if ahead >= sideways {
        "slide"
    } else {
        "shift"
    }
}

fn rotation(rig: &Rig<'_>, drives: &[&Drive]) -> &'static str {
    let axes = rig.notation.axes;
    let mut about = DVec3::ZERO;
    for drive in drives {
        let Travel::Angle { change, .. } = rig.travel(drive) else {
            continue;
        };
        let parent = rig.scene[drive.node].parent;
        let turned = parent.map_or(change, |parent| {
            rig.rest().world[parent.index()].transform_vector3(change)
        });
        about += turned.abs();
    }
    let along = [axes.right, axes.up, axes.forward]
        .map(|axis| about.dot(DVec3::from_array(axis.vector()).abs()));
    let [right, up, forward] = along;
    if up >= right && up >= forward {
        "turn"
    } else if right >= forward {
        "tilt"
    } else if drives.iter().any(|drive| drive.node != drives[0].node) {
        "swing"
    } else {
        "lean"
    }
}

fn visibility(rig: &Rig<'_>, drives: &[&Drive]) -> &'static str {
    let shown = drives
        .iter()
        .all(|drive| matches!(rig.travel(drive), Travel::Visibility { to: true, .. }));
    if shown { "show" } else { "hide" }
}
