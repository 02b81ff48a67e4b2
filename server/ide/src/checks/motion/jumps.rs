//! Motions that start where the motion before them did not end, or run at the same time.

use dialect::EndValue as Value;
use dialect::{Property, Quantity};
use foldhash::HashSet;
use glam::DVec3;
use machine::Spanned;
use syntax::{TextEdit, TextRange};

use super::super::gravest::Gravest;
use super::super::index::Part;
use super::super::site::Site;
use super::contested::Driven;
use super::{Moving, Turn, measure, rounded, written};
use crate::{Finding, Fix, Trust, codes};

/// Seconds: less is rounding.
const INSTANT: f64 = 1e-6;
/// Metres, degrees or factors: less nobody sees.
const VISIBLE: f64 = 1e-6;

/// Gives back the parts of which there is something to tell, told or not.
pub(super) fn check(site: &Site<'_>, turns: &[Turn<'_, '_>], found: &mut Gravest) -> HashSet<Part> {
    let mut loud = HashSet::default();
    let of_one = turns.chunk_by(|a, b| Driven::of(a.moving) == Driven::of(b.moving));
    for turns in of_one.filter(|turns| turns.len() > 1) {
        // Those before, each with the axes along which it is the last.
        let mut last: Vec<(&Moving<'_>, [bool; 3])> = Vec::new();
        for Turn { moving: after, .. } in turns {
            let said = after.axes();
            for (before, along) in &mut last {
                let common = [0, 1, 2].map(|axis| along[axis] && said[axis]);
                if common.contains(&true) && between(site, before, after, common, found) {
                    loud.insert(after.part);
                }
                *along = [0, 1, 2].map(|axis| along[axis] && !said[axis]);
            }
            last.retain(|(_, along)| along.contains(&true));
            last.push((after, said));
        }
    }
    loud
}

/// Whether something is wrong. `along`: the axes along which the one follows the other.
fn between(
    site: &Site<'_>,
    before: &Moving<'_>,
    after: &Moving<'_>,
    along: [bool; 3],
    found: &mut Gravest,
) -> bool {
    let Some((range, wrong)) = wrong(site, before, after, along) else {
        return false;
    };
    // There may be a hundred thousand, one with each of the others.
    if found.wants(codes::JUMP.severity, range.start()) {
        found.push(finding(site, before, after, range, wrong));
    }
    true
}

/// What is wrong between two motions.
enum Wrong<'m> {
    /// They run at the same time: where the end of the earlier one is written.
    AtOnce(TextRange),
    /// From one value to another, and how far that is.
    Jump {
        end: &'m Spanned<Value>,
        start: &'m Spanned<Value>,
        how_far: String,
    },
}

/// With the place where it is.
fn wrong<'m>(
    site: &Site<'_>,
    before: &Moving<'m>,
    after: &Moving<'m>,
    along: [bool; 3],
) -> Option<(TextRange, Wrong<'m>)> {
    // Keyframes that are in another order than their times are told already, and two at one time are meant.
    let are_keyframes = before.motion.is_keyed && after.motion.is_keyed;
    if are_keyframes && before.channel == after.channel {
        return None;
    }
    if after.begin < before.end - INSTANT {
        let begin = after.motion.window.begin.as_ref()?;
        let earlier = before.motion.window.end.as_ref()?;
        let wrong = Wrong::AtOnce(earlier.range + before.start);
        return Some((begin.range + after.start, wrong));
    }
    if before.motion.from_rest != after.motion.from_rest {
        return None;
    }
    let (end, start) = (before.motion.to.as_ref()?, after.motion.from.as_ref()?);
    let how_far = distance(site, after.property, end.value, start.value, along)?;
    let wrong = Wrong::Jump {
        end,
        start,
        how_far,
    };
    Some((start.range + after.start, wrong))
}

fn finding(
    site: &Site<'_>,
    before: &Moving<'_>,
    after: &Moving<'_>,
    range: TextRange,
    wrong: Wrong<'_>,
) -> Finding {
    let time = |seconds: f64| measure(site.dialect, Quantity::Time, seconds);
    let (end, start, how_far) = match wrong {
        Wrong::AtOnce(earlier) => {
            let message = format!(
                "Two motions of the {} of {} run at the same time from {} to {}: it cannot follow both.",
                after.property.as_str(),
                site.node_label(after.node),
                time(after.begin),
                time(before.end.min(after.end)),
            );
            let finding = codes::JUMP.at(range, message);
            return finding.see(earlier, "the other motion ends here");
        }
        Wrong::Jump {
            end,
            start,
            how_far,
        } => (end, start, how_far),
    };
    let ends = written(site, before.motion, before.property, end, before.start);
    let starts = written(site, after.motion, after.property, start, after.start);
    let message = format!(
        "At {} {} jumps{how_far}: the motion before ends at {ends}, this one starts at {starts}.",
        time(after.begin),
        site.node_label(after.node),
    );
    let finding = codes::JUMP
        .at(range, message)
        .see(end.range + before.start, "the motion before ends here");
    if before.motion.axes.is_some() || after.motion.axes.is_some() {
        return finding;
    }
    finding.fix(Fix {
        title: format!("Start at {ends}"),
        trust: Trust::Review,
        edits: vec![TextEdit::replace(
            range,
            site.text(end.range + before.start),
        )],
    })
}

/// " by 0.3 m", or nothing more to say for visibility; None if there is no jump along some axes.
fn distance(
    site: &Site<'_>,
    property: Property,
    end: Value,
    start: Value,
    along: [bool; 3],
) -> Option<String> {
    let (end, start) = match (end, start) {
        (Value::Vector(end), Value::Vector(start)) => {
            (DVec3::from_array(end), DVec3::from_array(start))
        }
        (Value::Visible(end), Value::Visible(start)) => return (end != start).then(String::new),
        _ => return None,
    };
    let change = match property {
        // A whole turn more or less looks the same.
        Property::Rotation => (start - end).map(|angle| (angle + 180.0).rem_euclid(360.0) - 180.0),
        _ => start - end,
    };
    let change = change * DVec3::from_array(along.map(|along| f64::from(u8::from(along))));
    if change.abs().max_element() <= VISIBLE {
        return None;
    }
    Some(match property {
        Property::Translation => format!(
            " by {}",
            measure(site.dialect, Quantity::Length, change.length())
        ),
        Property::Rotation => format!(
            " by {}",
            measure(site.dialect, Quantity::Angle, change.abs().max_element())
        ),
        Property::Scale | Property::Visibility => {
            format!(" by {}", rounded(site.dialect, change.abs().max_element()))
        }
    })
}
