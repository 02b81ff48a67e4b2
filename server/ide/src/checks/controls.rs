//! Can the player use it?

use std::collections::{HashMap, HashSet};

use machine::{Control, Spanned, UseTarget};
use syntax::TextRange;

use super::facts::Facts;
use super::names::Used;
use super::values;
use crate::{Finding, codes};

pub(super) fn check(facts: &Facts<'_>, used: &Used) -> Vec<Finding> {
    let mut findings = clashes(facts);
    findings.extend(wrong_kinds(facts));
    findings.extend(unreachable(facts, used));
    findings
}

/// One input for two controls; the later one is reported.
fn clashes(facts: &Facts<'_>) -> Vec<Finding> {
    let mut first: HashMap<&str, (&Control, &Spanned<String>)> = HashMap::new();
    let mut findings = Vec::new();
    for control in &facts.machine.controls {
        let Some(input) = &control.input else {
            continue;
        };
        let Some((other, taken)) = first.get(input.value.as_str()) else {
            first.insert(&input.value, (control, input));
            continue;
        };
        let plays = match other
            .animation
            .as_ref()
            .map(|animation| animation.value.as_str())
        {
            Some(animation) => format!(" (for `{animation}`)"),
            None => String::new(),
        };
        let message = format!(
            "The input `{}` is taken already{plays}: both would move at once.",
            input.value
        );
        findings.push(
            codes::INPUT_CLASH
                .at(input.range, message)
                .see(taken.range, "taken here"),
        );
    }
    findings
}

/// Inputs of the other kind, where only the role says which kind a control is. What the grammar says is checked there.
fn wrong_kinds(facts: &Facts<'_>) -> Vec<Finding> {
    let untyped: HashSet<TextRange> = facts
        .machine
        .uses
        .iter()
        .filter(|used| matches!(used.target, UseTarget::Input { kind: None, .. }))
        .map(|used| used.range)
        .collect();
    let controls = facts.machine.controls.iter();
    controls
        .filter_map(|control| {
            let (kind, input) = (control.kind?, control.input.as_ref()?);
            let listed = facts.dialect.inputs.of(kind).get(&input.value).is_some();
            let known = facts.dialect.inputs.kind_of(&input.value).is_some();
            if listed || !known || !untyped.contains(&input.range) {
                return None;
            }
            let element = facts.tree().elements_at(control.element.start()).pop()?;
            Some(codes::WRONG_INPUT_KIND.at(
                input.range,
                values::wrong_input_kind(&input.value, element.name(), kind),
            ))
        })
        .collect()
}

/// Animations that nothing names.
fn unreachable(facts: &Facts<'_>, used: &Used) -> Vec<Finding> {
    if facts.dialect.roles.controls.is_empty() {
        return Vec::new();
    }
    let names: HashMap<TextRange, &str> = facts
        .machine
        .animations
        .iter()
        .filter_map(|animation| animation.name.as_ref())
        .map(|name| (name.range, name.value.as_str()))
        .collect();
    let played: HashSet<&str> = facts
        .machine
        .controls
        .iter()
        .filter_map(|control| control.animation.as_ref())
        .map(|animation| animation.value.as_str())
        .collect();
    let definitions = facts.machine.definitions.iter();
    definitions
        .filter(|definition| names.contains_key(&definition.name.range))
        .filter(|definition| {
            !used.contains(definition) && !played.contains(definition.name.value.as_str())
        })
        .filter(|definition| !facts.unread.may_hold(&definition.name.value))
        .filter(|definition| facts.is_first(&definition.name))
        .map(|definition| {
            let message = format!(
                "No control plays the {} `{}`.",
                definition.kind, definition.name.value
            );
            codes::UNREACHABLE_ANIMATION.at(definition.name.range, message)
        })
        .collect()
}
