//! Wheels that stay behind when a control moves what they are fixed to.

use std::collections::{HashMap, HashSet};

use dialect::Quantity;
use machine::{Animation, Control};
use motion::{Pose, Rig};

use super::super::facts::Facts;
use super::measure;
use crate::{Finding, codes};

/// Metres: a wheel whose node goes less far is not left behind, it only turns.
const LEFT: f64 = 1e-3;
/// Parts of an animation at which wheels are looked for.
const LOOKED_AT: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];

pub(super) fn check(facts: &Facts<'_>, rig: &Rig<'_>) -> Vec<Finding> {
    let machine = facts.machine;
    // A dialect whose controls cannot carry wheels leaves nobody a choice.
    let carries = |role: usize| {
        facts
            .dialect
            .roles
            .controls
            .get(role)
            .is_some_and(|role| role.wheels.is_some())
    };
    if machine.wheels.is_empty() {
        return Vec::new();
    }
    let by_name: HashMap<&str, usize> = machine
        .animations
        .iter()
        .enumerate()
        .rev()
        .filter_map(|(index, animation)| Some((animation.name.as_ref()?.value.as_str(), index)))
        .collect();
    let rest = rig.rest();
    let mut moved: HashMap<usize, Vec<(usize, f64)>> = HashMap::new();
    let mut findings = Vec::new();
    for control in machine
        .controls
        .iter()
        .filter(|control| carries(control.role))
    {
        let Some(&index) = control
            .animation
            .as_ref()
            .and_then(|animation| by_name.get(animation.value.as_str()))
        else {
            continue;
        };
        let moved = moved
            .entry(index)
            .or_insert_with(|| moved_wheels(rig, index, rest));
        let carried: HashSet<usize> = control
            .wheels
            .iter()
            .filter_map(|wheel| machine.wheel(wheel))
            .collect();
        let left: Vec<(usize, f64)> = moved
            .iter()
            .copied()
            .filter(|(wheel, _)| !carried.contains(wheel))
            .collect();
        // A wheel that is named wrongly is one mistake, and it is reported as that.
        let misnamed = control
            .wheels
            .iter()
            .filter(|wheel| machine.wheel(wheel).is_none())
            .count();
        if left.len() > misnamed {
            findings.extend(finding(facts, control, &machine.animations[index], &left));
        }
    }
    findings
}

/// The wheels that an animation takes away from where they rest, and how far at most.
fn moved_wheels(rig: &Rig<'_>, animation: usize, rest: &Pose) -> Vec<(usize, f64)> {
    let wheels = rig.wheels_carried(animation);
    if wheels.is_empty() {
        return Vec::new();
    }
    let length = rig.machine.animations[animation].length();
    let poses = LOOKED_AT.map(|part| rig.pose(&[(animation, part * length)]));
    let how_far = |wheel: &usize| {
        let node = rig.wheel_node(*wheel)?;
        let away = poses
            .iter()
            .map(|pose| pose.place(node).distance(rest.place(node)));
        Some((*wheel, away.fold(0.0, f64::max)))
    };
    wheels
        .iter()
        .filter_map(how_far)
        .filter(|(_, away)| *away > LEFT)
        .collect()
}

fn finding(
    facts: &Facts<'_>,
    control: &Control,
    animation: &Animation,
    left: &[(usize, f64)],
) -> Option<Finding> {
    let played = control.animation.as_ref()?;
    let wheels = &facts.machine.wheels;
    let label = |index: usize| match wheels[index].label() {
        Some(name) => format!("`{name}`"),
        None => format!("number {}", index + 1),
    };
    let listed: Vec<String> = left
        .iter()
        .take(8)
        .map(|(wheel, away)| {
            format!(
                "{} ({})",
                label(*wheel),
                measure(facts.dialect, Quantity::Length, *away)
            )
        })
        .collect();
    let more = match left.len().saturating_sub(listed.len()) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let (wheel, stays) = if left.len() == 1 {
        ("a wheel", "does not follow")
    } else {
        ("wheels", "do not follow")
    };
    let message = format!(
        "`{}` moves {wheel} that {stays}: {}{more}. Let this control carry what it moves.",
        played.value,
        listed.join(", ")
    );
    let mut finding = codes::WHEEL_LEFT_BEHIND.at(played.range, message);
    for (wheel, _) in left.iter().take(4) {
        let wheel = &wheels[*wheel];
        let place = wheel
            .name
            .as_ref()
            .map(|name| name.range)
            .or(wheel.node.as_ref().map(|node| node.range));
        finding = finding.see(place.unwrap_or(wheel.element), "left behind");
    }
    if let Some(name) = &animation.name {
        finding = finding.see(name.range, "moved by this animation");
    }
    Some(finding)
}
