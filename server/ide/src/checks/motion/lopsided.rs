//! Left and right parts whose motions do not mirror each other.

use dialect::Quantity;
use motion::{Drive, Opposites, Rig, Travel};
use syntax::TextRange;

use super::super::site::Site;
use super::{measure, rounded};
use crate::{Finding, codes};

pub(super) fn check(site: &Site<'_>, rig: &Rig<'_>) -> Vec<Finding> {
    let animations = 0..rig.machine.animations.len();
    animations
        .flat_map(|animation| rig.opposites(animation))
        .filter(|pair| !pair.mirror && !pair.steer)
        .filter_map(|pair| finding(site, rig, pair))
        .collect()
}

/// The later of the two is reported.
fn finding(site: &Site<'_>, rig: &Rig<'_>, pair: Opposites<'_>) -> Option<Finding> {
    let mut both = [one(site, rig, pair.left)?, one(site, rig, pair.right)?];
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

fn one(site: &Site<'_>, rig: &Rig<'_>, drive: &Drive) -> Option<Part> {
    let channel = rig
        .machine
        .animations
        .get(drive.animation)?
        .channels
        .get(drive.channel)?;
    Some(Part {
        node: site.node_label(channel.node.as_ref()?),
        travel: described(site, rig.travel(drive)),
        to: channel.motions.get(drive.motion)?.to.as_ref()?.range,
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
