//! Wheels that stay behind when a control moves what they are fixed to.

use std::collections::{HashMap, HashSet};

use dialect::Quantity;
use machine::{Animation, Control, Spanned, WheelRef, WheelTarget};
use motion::Rig;

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
    let animations = first_by_name(
        machine
            .animations
            .iter()
            .map(|animation| animation.name.as_ref()),
    );
    let wheels = first_by_name(machine.wheels.iter().map(|wheel| wheel.name.as_ref()));
    let wheel = |word: &WheelRef| match &word.target {
        WheelTarget::Name(name) => wheels.get(name.as_str()).copied(),
        WheelTarget::Position(index) => usize::try_from(*index)
            .ok()
            .filter(|index| *index < machine.wheels.len()),
    };
    let mut moved: HashMap<usize, Vec<usize>> = HashMap::new();
    let mut findings = Vec::new();
    for control in machine
        .controls
        .iter()
        .filter(|control| carries(control.role))
    {
        let name = control
            .animation
            .as_ref()
            .map(|animation| animation.value.as_str());
        let Some(&index) = name.and_then(|name| animations.get(name)) else {
            continue;
        };
        let moved = moved
            .entry(index)
            .or_insert_with(|| rig.wheels_carried(index));
        let carried: HashSet<usize> = control.wheels.iter().filter_map(wheel).collect();
        let left = moved
            .iter()
            .copied()
            .filter(|wheel| !carried.contains(wheel))
            .collect();
        let left = far_away(rig, index, left);
        // A wheel that is named wrongly is one mistake, and it is reported as that.
        let misnamed = control
            .wheels
            .iter()
            .filter(|word| wheel(word).is_none())
            .count();
        if left.len() > misnamed {
            findings.extend(finding(facts, control, &machine.animations[index], &left));
        }
    }
    findings
}

/// By name: the position of the first that has it.
fn first_by_name<'m>(
    names: impl Iterator<Item = Option<&'m Spanned<String>>>,
) -> HashMap<&'m str, usize> {
    let mut first = HashMap::new();
    for (index, name) in names.enumerate() {
        if let Some(name) = name {
            first.entry(name.value.as_str()).or_insert(index);
        }
    }
    first
}

/// Those of the wheels that an animation takes away from where they rest, and how far at most.
fn far_away(rig: &Rig<'_>, animation: usize, wheels: Vec<usize>) -> Vec<(usize, f64)> {
    if wheels.is_empty() {
        return Vec::new();
    }
    let rest = rig.rest();
    let length = rig.machine.animations[animation].length();
    let poses = LOOKED_AT.map(|part| rig.pose(&[(animation, part * length)]));
    let how_far = |wheel: usize| {
        let node = rig.wheel_node(wheel)?;
        let away = poses
            .iter()
            .map(|pose| pose.place(node).distance(rest.place(node)));
        Some((wheel, away.fold(0.0, f64::max)))
    };
    let all = wheels.into_iter().filter_map(how_far);
    all.filter(|(_, away)| *away > LEFT).collect()
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
