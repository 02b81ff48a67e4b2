//! The curves of an animation: how each number that it drives changes over time.

use dialect::{Dialect, Easing, Property};
use motion::{Drive, Rig, Sample, acting, together};

/// So many points for a motion that does not go evenly.
const STEPS: u32 = 24;

/// One number of one property of one node.
#[derive(Debug, Clone)]
pub(super) struct Series {
    pub(super) label: String,
    pub(super) property: Property,
    /// Time in seconds, and metres, degrees, factors, or 0 and 1 for hidden and shown.
    pub(super) points: Vec<(f64, f64)>,
}

/// All curves of an animation, by property, then in the order of the document. Of a vector those numbers that change; if
/// none does, all.
pub(super) fn of(rig: &Rig<'_>, dialect: &Dialect, animation: usize) -> Vec<Series> {
    let length = rig.length(animation);
    let mut rows: Vec<&[Drive]> = rig
        .drives_of(animation)
        .chunk_by(|a, b| (a.node, a.property) == (b.node, b.property))
        .collect();
    rows.sort_by_key(|row| (row[0].property, row[0].channel, row[0].motion));
    let mut series = Vec::new();
    for row in rows {
        let numbers: Vec<(f64, [f64; 3])> = samples(row, length);
        let node = name(rig, &row[0]);
        let changes = |axis: usize| {
            let first = numbers.first().map_or(0.0, |(_, value)| value[axis]);
            // Going from a number to the same one leaves traces in its last digits.
            let least = 1e-9 * (1.0 + first.abs());
            numbers
                .iter()
                .any(|(_, value)| (value[axis] - first).abs() > least)
        };
        let property = row[0].property;
        let axes: Vec<usize> = match property {
            Property::Visibility => vec![0],
            _ if (0..3).any(changes) => (0..3).filter(|axis| changes(*axis)).collect(),
            _ => vec![0, 1, 2],
        };
        let unit = property
            .quantity()
            .map(|quantity| dialect.notation.units.of(quantity));
        for axis in axes {
            let points = numbers.iter().map(|(time, value)| {
                let number = value[axis];
                (*time, unit.map_or(number, |unit| unit.from_base(number)))
            });
            let axis = match property {
                Property::Visibility => "",
                _ => [" x", " y", " z"][axis],
            };
            series.push(Series {
                label: format!("{}{axis}", super::canvas::shorter(&node, 26)),
                property,
                points: points
                    .filter(|(time, number)| time.is_finite() && number.is_finite())
                    .collect(),
            });
        }
    }
    series
}

/// The alias that the channel is written with, else the node's name, else the index path as it is written.
fn name(rig: &Rig<'_>, drive: &Drive) -> String {
    let channel = rig
        .machine
        .animations
        .get(drive.animation)
        .and_then(|animation| animation.channels.get(drive.channel));
    let written = channel.and_then(|channel| channel.node.as_ref());
    let is_path = written.is_none_or(|node| matches!(node.target, machine::NodeTarget::Path(_)));
    match (written, &*rig.scene[drive.node].name) {
        (Some(node), "") => node.text.to_string(),
        (Some(node), _) if !is_path => node.text.to_string(),
        (_, name) => name.to_owned(),
    }
}

/// The values of motions that follow one another, from the start of their animation to its end; two at a time at which
/// it jumps.
fn samples(row: &[Drive], length: f64) -> Vec<(f64, [f64; 3])> {
    let mut times: Vec<f64> = row
        .iter()
        .flat_map(|drive| [drive.begin, drive.end])
        .filter(|time| *time > 0.0 && *time < length)
        .chain([0.0, length])
        .collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    let mut found: Vec<(f64, [f64; 3])> = Vec::new();
    let mut push = |time: f64, value: [f64; 3]| {
        if found.last() != Some(&(time, value)) {
            found.push((time, value));
        }
    };
    let at = |acting: [&Drive; 3], time: f64| match together(acting, time) {
        Sample::Vector(vector) => vector.to_array(),
        Sample::Visible(shown) => [f64::from(u8::from(shown)), 0.0, 0.0],
    };
    for stretch in times.windows(2) {
        let [from, to] = [stretch[0], stretch[1]];
        let Some(acting) = acting(row, from) else {
            continue;
        };
        let jumps =
            |drive: &Drive| drive.easing == Easing::Step || drive.property == Property::Visibility;
        let is_even = |drive: &Drive| drive.easing == Easing::Linear || jumps(drive);
        let steps = if acting.into_iter().all(is_even) {
            1
        } else {
            STEPS
        };
        for step in 0..steps {
            let time = from + (to - from) * f64::from(step) / f64::from(steps);
            push(time, at(acting, time));
        }
        if acting.into_iter().any(jumps) {
            // The value before the jump lasts until it.
            push(to, at(acting, to.next_down()));
        }
        push(to, at(acting, to));
    }
    if times.len() == 1
        && let Some(acting) = acting(row, length)
    {
        push(length, at(acting, length));
    }
    found
}
