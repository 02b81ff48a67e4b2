//! Do the motions make sense?

mod contested;
mod jumps;
mod windows;

use dialect::{Dialect, Property, Quantity};
use machine::{Animation, Channel, Motion, NodeRef};

use super::facts::Facts;
use crate::Finding;

pub(super) fn check(facts: &Facts<'_>) -> Vec<Finding> {
    let mut findings = windows::check(facts);
    findings.extend(jumps::check(facts));
    findings.extend(contested::check(facts));
    findings
}

/// A motion of which node, property and window can be read, and whose window is not empty.
#[derive(Clone, Copy)]
struct Moving<'v> {
    node: &'v NodeRef,
    /// Where the node is in the scene, whatever it is called here.
    path: &'v [u32],
    property: Property,
    begin: f64,
    end: f64,
    motion: &'v Motion,
}

/// The motions of an animation that can be read, in the order of the document.
fn moving<'v>(facts: &Facts<'v>, animation: &'v Animation) -> impl Iterator<Item = Moving<'v>> {
    animation
        .motions()
        .filter_map(|(channel, motion): (&'v Channel, &'v Motion)| {
            let node = channel.node.as_ref()?;
            let (begin, end) = motion.window.seconds()?;
            let path = facts.path_of(node)?;
            let property = motion.property?;
            (end > begin).then_some(Moving {
                node,
                path,
                property,
                begin,
                end,
                motion,
            })
        })
}

/// A number of base units in the dialect's unit, rounded for reading: `0.32 m`.
fn measure(dialect: &Dialect, quantity: Quantity, number: f64) -> String {
    let unit = dialect.notation.units.of(quantity);
    format!("{} {}", rounded(dialect, unit.from_base(number)), unit.name)
}

/// A number with four digits that matter at most.
fn rounded(dialect: &Dialect, number: f64) -> String {
    let digits = 3 - number.abs().log10().floor().clamp(-6.0, 3.0) as i32;
    let scale = 10_f64.powi(digits);
    dialect.write_number((number * scale).round() / scale)
}
