//! Can the player use it?

use foldhash::HashMap;

use machine::{Entry, Sort, UseTarget};
use syntax::TextRange;

use super::gravest::Gravest;
use super::site::Site;
use super::values;
use crate::finding::short;
use crate::{Finding, codes};

pub(super) fn check(site: &Site<'_>, found: &mut Gravest) {
    clashes(site, found);
    for (_, entry) in site.outline.saying(Sort::Controls) {
        found.extend(wrong_kinds(site, entry));
    }
}

/// One input for two controls; the later one is reported.
fn clashes(site: &Site<'_>, found: &mut Gravest) {
    // By input: the animation of the first control, and where it takes the input.
    let mut first: HashMap<&str, (Option<&str>, TextRange)> = HashMap::default();
    for (_, entry) in site.outline.saying(Sort::Controls) {
        for control in &entry.facts.controls {
            let Some(input) = &control.input else {
                continue;
            };
            let range = input.range + entry.start();
            let animation = control.animation.as_ref();
            let animation = animation.map(|animation| &*animation.value);
            let Some((other, taken)) = first.get(&*input.value) else {
                first.insert(&input.value, (animation, range));
                continue;
            };
            if !found.wants(codes::INPUT_CLASH.severity, range.start()) {
                continue;
            }
            let plays = match other {
                Some(animation) => format!(" (for `{}`)", short(animation)),
                None => String::new(),
            };
            let message = format!(
                "The input `{}` is taken already{plays}: both would move at once.",
                input.value
            );
            found.push(
                codes::INPUT_CLASH
                    .at(range, message)
                    .see(*taken, "taken here"),
            );
        }
    }
}

/// Inputs of the other kind, where only the role says which kind a control is. What the grammar says is checked there.
fn wrong_kinds(site: &Site<'_>, entry: &Entry) -> Vec<Finding> {
    let facts = &entry.facts;
    let is_untyped = |range: TextRange| {
        facts.uses.iter().any(|used| {
            used.range == range && matches!(used.target, UseTarget::Input { kind: None, .. })
        })
    };
    let controls = facts.controls.iter();
    controls
        .filter_map(|control| {
            let (kind, input) = (control.kind?, control.input.as_ref()?);
            let listed = site.dialect.inputs.of(kind).get(&input.value).is_some();
            let known = site.dialect.inputs.kind_of(&input.value).is_some();
            if listed || !known || !is_untyped(input.range) {
                return None;
            }
            let start = control.element.start() + entry.start();
            let element = site.tree().elements_at(start).pop()?;
            Some(codes::WRONG_INPUT_KIND.at(
                input.range + entry.start(),
                values::wrong_input_kind(&input.value, element.name(), kind),
            ))
        })
        .collect()
}
