//! What the channels are read from and others may share: what stands around them is copied, or they cannot be taken out.

use super::Source;
use crate::assists::{parts::Parts, site::Site};
use dialect::{ChannelRole, Leaf, Path, StepKind};
use std::collections::HashSet;
use syntax::{TextEdit, TextRange};

/// The attributes of elements around channels that channels are read from.
pub(super) fn inherited_attributes(site: &Site<'_>) -> HashSet<String> {
    let upward = |path: &&Path| {
        path.steps()
            .iter()
            .any(|step| step.kind == StepKind::Parent)
    };
    let roles = site.dialect.roles.channels.iter();
    roles
        .flat_map(ChannelRole::paths)
        .filter(upward)
        .filter_map(|path| match path.leaf() {
            Leaf::Attribute(name) => Some(name.clone()),
            _ => None,
        })
        .collect()
}

/// Refuses where the channels are read from something that does not go with
/// them.
pub(super) fn stands_with_the_channels(
    site: &Site<'_>,
    source: &Source<'_>,
    parts: &Parts,
    moved: &[TextRange],
    inherited: &HashSet<String>,
    edits: &[TextEdit],
) -> Result<(), String> {
    let goes_along = |range: TextRange| {
        let is_copied = || {
            let channels = source.channels.iter();
            let copied = channels.filter(|(role, _)| role.animation.is_none());
            let around = copied.flat_map(|(_, chain)| chain.iter().skip(source.chain.len() - 1));
            around.map(|at| at.element).any(|element| {
                let on_source = element == source.element;
                element.attributes().any(|attribute| {
                    let there = attribute
                        .value_range()
                        .is_some_and(|value| value.contains_range(range));
                    there && (!on_source || inherited.contains(attribute.name()))
                })
            })
        };
        moved.iter().any(|moved| moved.contains_range(range)) || is_copied()
    };
    let refuse = |range: TextRange, what: &str| {
        Err(format!(
            "{what} stands on line {}, outside of the channels, where others may share it",
            site.line(range.start())
        ))
    };
    for channel in parts.channels_of(site) {
        if let Some(node) = channel.node.as_ref().filter(|node| !goes_along(node.range)) {
            return refuse(node.range, "the node they move");
        }
        for motion in &channel.motions {
            if let Some(range) = motion
                .property_range
                .range()
                .filter(|range| !goes_along(*range))
            {
                return refuse(range, "the property they move");
            }
            let mut ends = motion.values().map(|end| end.range);
            if let Some(range) = ends.find(|range| !goes_along(*range)) {
                return refuse(range, "a value they move to");
            }
            let times = [&motion.window.begin, &motion.window.end]
                .into_iter()
                .flatten()
                .map(|time| time.range);
            if let Some(range) = times.into_iter().find(|range| !goes_along(*range)) {
                return refuse(range, "a time of theirs");
            }
        }
    }
    match edits.windows(2).find(|pair| {
        pair[0]
            .range
            .intersect(pair[1].range)
            .is_some_and(|common| !common.is_empty())
    }) {
        Some(pair) => refuse(
            pair[0].range,
            "a time that cannot be told from its neighbour",
        ),
        None => Ok(()),
    }
}
