//! Properties of nodes that more than one animation drives, under whatever names.

use std::collections::{HashMap, HashSet};

use dialect::Property;
use machine::Animation;

use super::super::facts::Facts;
use super::Moving;
use crate::{Finding, codes};

/// The later of two animations is reported, once for each property of a node.
pub(super) fn check<'v>(facts: &Facts<'v>, moving: &[Vec<Moving<'v>>]) -> Vec<Finding> {
    let mut first: HashMap<(usize, Property), (usize, &Moving<'v>)> = HashMap::new();
    let mut reported: HashSet<(usize, usize, Property)> = HashSet::new();
    let mut findings = Vec::new();
    let animations = &facts.machine.animations;
    for (index, (animation, in_animation)) in animations.iter().zip(moving).enumerate() {
        for one in in_animation {
            let (before, other) = *first
                .entry((one.part, one.property))
                .or_insert((index, one));
            // Two of the same name are one mistake, and it is reported as that.
            let is_copy = name(animation).is_some() && name(&animations[before]) == name(animation);
            let contested = before != index && !is_copy;
            if contested && reported.insert((index, one.part, one.property)) {
                findings.push(finding(facts, one, other, &animations[before], animation));
            }
        }
    }
    findings
}

fn finding<'v>(
    facts: &Facts<'v>,
    one: &Moving<'v>,
    other: &Moving<'v>,
    earlier: &Animation,
    later: &Animation,
) -> Finding {
    let called = |animation: &Animation| {
        name(animation).map_or("a nameless one".to_owned(), |name| format!("`{name}`"))
    };
    let there = if one.node.text == other.node.text {
        String::new()
    } else {
        format!(" (as `{}`)", other.node.text)
    };
    let message = format!(
        "The {} of {} is driven by {}{there} and by {}: when both play, it jumps between the two.",
        one.property.as_str(),
        facts.node_label(one.node),
        called(earlier),
        called(later),
    );
    codes::CONTESTED_PART
        .at(one.node.range, message)
        .see(other.node.range, "driven here as well")
}

fn name(animation: &Animation) -> Option<&str> {
    animation.name.as_ref().map(|name| name.value.as_str())
}
