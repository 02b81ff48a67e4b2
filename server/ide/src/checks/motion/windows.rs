//! Windows of time and values that cannot be meant: empty ones, ones that end too late, motions that do not move.

use foldhash::HashSet;

use dialect::EndValue as Value;
use dialect::{Property, Quantity};
use machine::{Animation, Motion, NodeRef, Ranges, Spanned};
use syntax::{TextEdit, TextRange, TextSize};

use super::super::site::Site;
use super::{ChannelAt, measure, written};
use crate::{Finding, Fix, Trust, codes};

/// Seconds: less is rounding.
const INSTANT: f64 = 1e-6;

/// The motions of one channel. Several may have one window, or the times of the same keyframes: that is told once.
pub(super) fn check(site: &Site<'_>, at: &ChannelAt<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut told = HashSet::default();
    let suspects = at.channel.motions.iter();
    for motion in suspects.filter(|motion| is_empty(motion) || is_still(motion)) {
        let motion = motion.clone().moved_on(at.start);
        findings.extend(empty(site, &motion).filter(|one| told.insert(one.range)));
        findings.extend(still(site, &motion, at.channel.node.as_ref()));
    }
    findings
}

fn is_empty(motion: &Motion) -> bool {
    let seconds = motion.window.seconds();
    // Two keyframes at one time are a jump, and a single one has no time to last.
    seconds.is_some_and(|(begin, end)| end < begin || end == begin && !motion.is_keyed)
}

fn is_still(motion: &Motion) -> bool {
    let ends = motion.from.as_ref().zip(motion.to.as_ref());
    // Keyframes are repeated to wait.
    !motion.is_keyed && ends.is_some_and(|(from, to)| same(from.value, to.value))
        || adds_nothing(motion)
}

fn adds_nothing(motion: &Motion) -> bool {
    let nothing = match motion.property {
        Some(Property::Scale) => 1.0,
        _ => 0.0,
    };
    let by = motion.by.as_ref().map(|by| by.value);
    by.is_some_and(|by| same(by, Value::Vector([nothing; 3])))
}

fn empty(site: &Site<'_>, motion: &Motion) -> Option<Finding> {
    let (begin, end) = (motion.window.begin.as_ref()?, motion.window.end.as_ref()?);
    if end.value > begin.value {
        return None;
    }
    let [at_begin, at_end] =
        [begin, end].map(|time| measure(site.dialect, Quantity::Time, time.value));
    if end.value == begin.value {
        let message = format!("This motion begins and ends at {at_end}: it has no time to move.");
        return Some(
            codes::EMPTY_WINDOW
                .at(end.range, message)
                .see(begin.range, "it begins here"),
        );
    }
    let message = match motion.is_keyed {
        true => {
            format!(
                "This keyframe comes at {at_end}, before the one above it, which comes at {at_begin}."
            )
        }
        false => format!("This motion ends at {at_end}, before it begins at {at_begin}."),
    };
    let finding = codes::EMPTY_WINDOW
        .at(end.range, message)
        .see(begin.range, "it begins here");
    if motion.window.lasts || motion.is_keyed {
        return Some(finding);
    }
    Some(finding.fix(Fix {
        title: "Swap begin and end".to_owned(),
        trust: Trust::Review,
        edits: vec![
            TextEdit::replace(begin.range, site.text(end.range)),
            TextEdit::replace(end.range, site.text(begin.range)),
        ],
    }))
}

fn still(site: &Site<'_>, motion: &Motion, node: Option<&NodeRef>) -> Option<Finding> {
    let property = motion.property?;
    let node = node.map_or("This node".to_owned(), |node| site.node_label(node));
    let said = |value: &Spanned<Value>| written(site, motion, property, value, TextSize::new(0));
    if let Some(by) = motion.by.as_ref().filter(|_| adds_nothing(motion)) {
        let message = format!(
            "{node} does not move here: its {} changes by {}.",
            property.as_str(),
            said(by)
        );
        return Some(codes::STILL_CHANNEL.at(by.range, message));
    }
    let (from, to) = (motion.from.as_ref()?, motion.to.as_ref()?);
    if motion.is_keyed || !same(from.value, to.value) {
        return None;
    }
    let message = format!(
        "{node} does not move here: its {} stays at {}.",
        property.as_str(),
        said(to)
    );
    Some(
        codes::STILL_CHANNEL
            .at(to.range, message)
            .see(from.range, "it starts with the same value"),
    )
}

fn same(one: Value, other: Value) -> bool {
    match (one, other) {
        (Value::Vector(one), Value::Vector(other)) => one
            .iter()
            .zip(other)
            .all(|(a, b)| (a - b).abs() <= 1e-9 * a.abs().max(b.abs()).max(1.0)),
        (one, other) => one == other,
    }
}

/// One finding for an animation, at the first motion that ends too late: mostly it is the duration that is wrong. `head`:
/// of the animation, with ranges relative to `start`; `channels`: of that animation.
pub(super) fn past_duration(
    site: &Site<'_>,
    head: &Animation,
    start: TextSize,
    channels: &[ChannelAt<'_>],
) -> Option<Finding> {
    let duration = head.duration.clone()?.moved_on(start);
    let time = |seconds: f64| measure(site.dialect, Quantity::Time, seconds);
    let ends = || {
        channels.iter().flat_map(|at| {
            let motions = at.channel.motions.iter();
            motions.filter_map(|motion| Some((motion, motion.window.end.as_ref()?, at.start)))
        })
    };
    let is_past = |motion: &Motion| {
        let seconds = motion.window.seconds();
        seconds.is_some_and(|(begin, end)| end > begin && end > duration.value + INSTANT)
    };
    let motions = || {
        let all = channels.iter();
        all.flat_map(|at| at.channel.motions.iter().map(|motion| (motion, at.start)))
    };
    if !motions().any(|(motion, _)| is_past(motion)) {
        return None;
    }
    // A keyframe behind which an earlier one comes: that is told, and which of both is wrong is not known.
    let back = motions().filter(|(motion, _)| motion.is_keyed && is_empty(motion));
    let back = back.filter_map(|(motion, start)| Some(motion.window.begin.as_ref()?.range + start));
    let mut told: HashSet<TextRange> = back.collect();
    let mut past =
        ends().filter(|(motion, end, start)| is_past(motion) && told.insert(end.range + *start));
    let (_, first, first_start) = past.next()?;
    let others: Vec<TextRange> = past.map(|(_, end, start)| end.range + start).collect();
    let latest = ends().map(|(_, end, _)| end.value).fold(0.0, f64::max);
    let mut message = format!(
        "This motion ends at {}, but the animation lasts only {}.",
        time(first.value),
        time(duration.value)
    );
    match others.len() {
        0 => {}
        1 => message.push_str(" Another one ends too late as well."),
        more => message.push_str(&format!(" {more} others end too late as well.")),
    }
    let mut finding = codes::PAST_DURATION
        .at(first.range + first_start, message)
        .see(duration.range, "the duration");
    for other in others.iter().take(5) {
        finding = finding.see(*other, "ends too late as well");
    }
    let Some(written) = in_the_unit_of(site, &duration, latest) else {
        return Some(finding);
    };
    Some(finding.fix(Fix {
        title: format!("Let the animation last {}", time(latest)),
        trust: Trust::Review,
        edits: vec![TextEdit::replace(duration.range, written)],
    }))
}

/// A time as it would be written in place of another one. None if that is 0 and does not tell its unit.
fn in_the_unit_of(site: &Site<'_>, written: &Spanned<f64>, seconds: f64) -> Option<String> {
    let number = site.dialect.read_number(&site.text(written.range))?;
    let unit = written.value / number;
    (unit.is_finite() && unit > 0.0).then(|| site.dialect.write_number(seconds / unit))
}
