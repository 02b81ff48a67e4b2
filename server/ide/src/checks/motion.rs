//! Do the motions make sense?

mod contested;
mod jumps;
mod lopsided;
mod wheels;
mod windows;

use std::collections::HashMap;

use dialect::{Dialect, Property, Quantity};
use machine::{Channel, Motion, NodeRef};

use super::facts::Facts;
use crate::Finding;

pub(super) fn check(facts: &Facts<'_>) -> Vec<Finding> {
    let moving = moving(facts);
    let mut findings = windows::check(facts);
    findings.extend(jumps::check(facts, &moving));
    findings.extend(contested::check(facts, &moving));
    if let Some(scene) = facts.scene {
        let rig = motion::Rig::new(scene, facts.machine, &facts.dialect.notation);
        findings.extend(wheels::check(facts, &rig));
        findings.extend(lopsided::check(facts, &rig));
    }
    findings
}

/// A motion of which node, property and window can be read, and whose window is not empty.
#[derive(Clone, Copy)]
struct Moving<'v> {
    node: &'v NodeRef,
    /// The same number for the same node, whatever it is called here.
    part: usize,
    property: Property,
    begin: f64,
    end: f64,
    motion: &'v Motion,
}

/// The motions of each animation that can be read, in the order of the document.
fn moving<'v>(facts: &Facts<'v>) -> Vec<Vec<Moving<'v>>> {
    let mut parts: HashMap<&[u32], usize> = HashMap::new();
    let mut of_channel = |channel: &'v Channel| {
        let node = channel.node.as_ref();
        let path = node.and_then(|node| facts.path_of(node));
        let next = parts.len();
        let part = path.map(|path| *parts.entry(path).or_insert(next));
        let motions = channel.motions.iter().filter_map(move |motion| {
            let (begin, end) = motion.window.seconds()?;
            let (node, part, property) = (node?, part?, motion.property?);
            (end > begin).then_some(Moving {
                node,
                part,
                property,
                begin,
                end,
                motion,
            })
        });
        motions.collect::<Vec<_>>()
    };
    let animations = facts.machine.animations.iter();
    animations
        .map(|animation| {
            animation
                .channels
                .iter()
                .flat_map(&mut of_channel)
                .collect()
        })
        .collect()
}

/// A number of base units in the dialect's unit, rounded for reading: `0.32 m`.
fn measure(dialect: &Dialect, quantity: Quantity, number: f64) -> String {
    let unit = dialect.notation.units.of(quantity);
    format!(
        "{} {}",
        rounded(dialect, unit.from_base(number)),
        unit.symbol()
    )
}

/// A number with four digits that matter at most.
fn rounded(dialect: &Dialect, number: f64) -> String {
    let digits = 3 - number.abs().log10().floor().clamp(-6.0, 3.0) as i32;
    let scale = 10_f64.powi(digits);
    dialect.write_number((number * scale).round() / scale)
}
