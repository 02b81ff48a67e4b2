//! Parts that go back while what they hang on goes forth.

use dialect::{Property, Quantity};
use glam::DVec3;
use motion::{Drive, Rig, Travel};
use scene::NodeIndex;

use super::super::site::Site;
use super::{ChannelAt, measure};
use crate::{Finding, codes};

/// Metres: less is rounding.
const MOVES: f64 = 1e-3;
/// Seconds: less is rounding.
const INSTANT: f64 = 1e-6;
/// The cosine from which on two ways are opposite (about 11 degrees).
const OPPOSITE: f64 = -0.98;

/// Gives back each finding with the numbers of the channels that it is about.
///
/// Each translation is compared with those of the nearest node above that is translated too. Turning against each other is
/// left alone: arms fold like that, and platforms are kept level.
pub(super) fn check(
    site: &Site<'_>,
    rig: &Rig<'_>,
    channels: &[ChannelAt<'_>],
) -> Vec<(Finding, [usize; 2])> {
    let mut findings = Vec::new();
    let all: Vec<&Drive> = rig.drives_of(0).iter().filter(|one| is_way(one)).collect();
    // Sorted by node, what hangs on a node right after it: the nodes above are those still open.
    let mut open: Vec<(NodeIndex, &[&Drive])> = Vec::new();
    for group in all.chunk_by(|a, b| a.node == b.node) {
        let node = group[0].node;
        while open
            .last()
            .is_some_and(|(above, _)| !rig.scene.is_below(node, *above))
        {
            open.pop();
        }
        if let Some((_, carriers)) = open.last() {
            for drive in group {
                let Some(carrier) = carriers.iter().find(|carrier| overlap(drive, carrier)) else {
                    continue;
                };
                let finding = finding(site, rig, channels, drive, carrier);
                let about = [drive.channel, carrier.channel];
                findings.extend(finding.map(|finding| (finding, about)));
            }
        }
        open.push((node, group));
    }
    findings
}

fn is_way(drive: &Drive) -> bool {
    drive.property == Property::Translation && drive.changes()
}

fn overlap(one: &Drive, other: &Drive) -> bool {
    one.begin + INSTANT < other.end && other.begin + INSTANT < one.end
}

fn finding(
    site: &Site<'_>,
    rig: &Rig<'_>,
    channels: &[ChannelAt<'_>],
    drive: &Drive,
    carrier: &Drive,
) -> Option<Finding> {
    let (own, carried) = (offset(rig, drive)?, offset(rig, carrier)?);
    if own.normalize().dot(carried.normalize()) > OPPOSITE {
        return None;
    }
    let one = |drive: &Drive| {
        let at = channels.get(drive.channel)?;
        let to = at.channel.motions.get(drive.motion)?.to.as_ref()?;
        let node = site.node_label(at.channel.node.as_ref()?);
        Some((node, to.range + at.start))
    };
    let ((node, to), (above, above_to)) = (one(drive)?, one(carrier)?);
    let length = |way: DVec3| measure(site.dialect, Quantity::Length, way.length());
    let message = format!(
        "{node} moves {} against {above}, which it hangs on and which moves {} at the same time: together that is {}.",
        length(own),
        length(carried),
        length(own + carried),
    );
    Some(
        codes::AGAINST_CARRIER
            .at(to, message)
            .see(above_to, "carries it the other way"),
    )
}

/// The way of a translation in the scene, if it is long enough to be meant.
fn offset(rig: &Rig<'_>, drive: &Drive) -> Option<DVec3> {
    match rig.travel(drive) {
        Travel::Distance { offset, metres } if metres > MOVES => Some(offset),
        _ => None,
    }
}
