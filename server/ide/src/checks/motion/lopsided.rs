//! Left and right parts whose motions do not mirror each other.

use foldhash::{HashMap, HashSet};
use std::cell::LazyCell;

use dialect::{EndValue, Quantity};
use glam::DVec3;
use motion::{Drive, Ends, Rig, Travel};
use scene::{NodeIndex, Scene};
use syntax::TextRange;

use super::super::site::Site;
use super::contested::Driven;
use super::{ChannelAt, measure, rounded};
use crate::nodes::rest_value;
use crate::{Finding, codes};

/// `pairs`: the nodes to compare, left and right. Gives back each finding with the numbers of the channels that it is about.
///
/// `restless`: the motions that start elsewhere than their parts rest. Those that make a
/// part lopsided by that alone are taken out of these: it is one mistake.
pub(super) fn check(
    site: &Site<'_>,
    scene: &Scene,
    rig: &Rig<'_>,
    channels: &[ChannelAt<'_>],
    pairs: &[(NodeIndex, NodeIndex)],
    restless: &mut Vec<(Driven, Finding)>,
) -> Vec<(Finding, [usize; 2])> {
    let mut found = Vec::new();
    // Mostly all pairs fit, and nobody asks.
    let by_start = LazyCell::new(|| {
        let starts = restless.iter().map(|(_, finding)| finding.range);
        starts.zip(0..).collect::<HashMap<TextRange, usize>>()
    });
    let mut told: HashSet<usize> = HashSet::default();
    let fits = |left: &Drive, right: &Drive| {
        let pair = rig.compared(left, right);
        pair.mirror || pair.steer
    };
    let pairs = pairs.iter();
    for (left, right) in pairs.flat_map(|(left, right)| rig.opposite_drives(0, *left, *right)) {
        if fits(left, right) {
            continue;
        }
        let starts = [left, right].map(|drive| {
            let start = by_start.get(&from(channels, drive)?);
            start.copied()
        });
        let as_resting = |drive: &Drive, start: Option<usize>| match start {
            Some(_) => resting(site, scene, drive),
            None => drive.clone(),
        };
        let is_by_start = starts != [None, None]
            && fits(&as_resting(left, starts[0]), &as_resting(right, starts[1]));
        let Some(mut finding) = finding(site, rig, channels, left, right) else {
            continue;
        };
        for start in starts.into_iter().flatten().filter(|_| is_by_start) {
            let (_, cause) = &restless[start];
            finding = finding.see(
                cause.range,
                "it starts elsewhere than it rests in the scene",
            );
            finding.fixes.extend(cause.fixes.iter().cloned());
            told.insert(start);
        }
        found.push((finding, [left.channel, right.channel]));
    }
    let mut at = 0..;
    restless.retain(|_| at.next().is_none_or(|at| !told.contains(&at)));
    found
}

/// Where the start of a motion is written.
fn from(channels: &[ChannelAt<'_>], drive: &Drive) -> Option<TextRange> {
    let at = channels.get(drive.channel)?;
    let start = at.channel.motions.get(drive.motion)?.from.as_ref()?;
    Some(start.range + at.start)
}

/// The same motion from where the part rests.
fn resting(site: &Site<'_>, scene: &Scene, drive: &Drive) -> Drive {
    let mut drive = drive.clone();
    let rests = rest_value(site.dialect, &scene[drive.node].rest, drive.property);
    match (&mut drive.ends, rests) {
        (Ends::Vectors { from, .. }, EndValue::Vector(rests)) => *from = DVec3::from_array(rests),
        (Ends::Visible { from, .. }, EndValue::Visible(rests)) => *from = rests,
        _ => {}
    }
    drive
}

/// The later of the two is reported.
fn finding(
    site: &Site<'_>,
    rig: &Rig<'_>,
    channels: &[ChannelAt<'_>],
    left: &Drive,
    right: &Drive,
) -> Option<Finding> {
    let one = |drive| one(site, rig, channels, drive);
    let mut both = [one(left)?, one(right)?];
    both.sort_by_key(|part| part.to.start());
    let [first, later] = both;
    let message = if first.travel == later.travel {
        format!(
            "{} {}, but not the mirrored way of {}, which stands opposite.",
            later.node, later.travel, first.node
        )
    } else {
        format!(
            "{} {}, but {}, which stands opposite, {}.",
            later.node, later.travel, first.node, first.travel
        )
    };
    Some(
        codes::LOPSIDED
            .at(later.to, message)
            .see(first.to, "the part opposite"),
    )
}

struct Part {
    /// As the definition calls it.
    node: String,
    travel: String,
    /// Where the end of the motion is written.
    to: TextRange,
}

fn one(site: &Site<'_>, rig: &Rig<'_>, channels: &[ChannelAt<'_>], drive: &Drive) -> Option<Part> {
    let at = channels.get(drive.channel)?;
    let end = at.channel.motions.get(drive.motion)?.to.as_ref()?;
    Some(Part {
        node: site.node_label(at.channel.node.as_ref()?),
        travel: described(site, rig.travel(drive)),
        to: end.range + at.start,
    })
}

fn described(site: &Site<'_>, travel: Travel) -> String {
    let dialect = site.dialect;
    match travel {
        Travel::Distance { metres, .. } => {
            format!("goes {}", measure(dialect, Quantity::Length, metres))
        }
        Travel::Angle { degrees, .. } => {
            format!("turns {}", measure(dialect, Quantity::Angle, degrees))
        }
        Travel::Factor { from, to } => {
            let row = |factors: glam::DVec3| {
                factors
                    .to_array()
                    .map(|factor| rounded(dialect, factor))
                    .join(" ")
            };
            format!("is scaled from {} to {}", row(from), row(to))
        }
        Travel::Visibility { to, .. } => (if to { "appears" } else { "disappears" }).to_owned(),
    }
}
