//! The proof that a change did what it says and nothing else: the document is
//! read again, compared, posed and checked.

use super::{
    after::after, carry_wheels::carried, extraction::SAME_TIME, parts::Parts, site::Site,
    stretches::Stretches,
};
use crate::{Finding, Severity, checks, codes};
use dialect::{ControlKind, Easing, EndValue, NodePath, Property};
use foldhash::HashSet;
use machine::{Animation, Channel, Control, UseTarget};
use motion::{Difference, Moment, Rig};
use project::View;
use std::sync::Arc;
use syntax::{TextEdit, TextRange};

/// What a change to an animation and its controls claims.
#[derive(Debug)]
pub(crate) struct Claim<'c> {
    /// The channels it is about, in the document before.
    pub(crate) parts: &'c Parts,
    /// Where the new animation is in the text after, if there is one, and by
    /// how many seconds its channels begin earlier.
    pub(crate) new_animation: Option<(TextRange, f64)>,
    pub(crate) control: Option<ControlClaim<'c>>,
    /// Where the change leaves something to fill in, in the text after.
    pub(crate) places: &'c [TextRange],
}

#[derive(Debug)]
pub(crate) struct ControlClaim<'c> {
    /// Where the control is in the text after.
    pub(crate) within: TextRange,
    pub(crate) kind: ControlKind,
    pub(crate) input: Option<&'c str>,
    pub(crate) wheels: &'c [usize],
    /// It takes the place of this control of the document before.
    pub(crate) replaces: Option<usize>,
}

/// What the proof found.
#[derive(Debug)]
pub(crate) struct Proof {
    pub(crate) after: View,
    /// The animation that moves the parts now.
    pub(crate) animation: usize,
    /// None: without a scene there are no poses; the channels were compared.
    pub(crate) difference: Option<Difference>,
}

/// Metres, degrees and factors: poses may differ by no more.
const TOLERANCE: f64 = 1e-9;

/// Applies a change on paper and holds it against what it claims.
///
/// # Errors
/// What turned out otherwise.
pub(crate) fn prove(
    site: &Site<'_>,
    edits: &[TextEdit],
    claim: &Claim<'_>,
) -> Result<Proof, String> {
    let view = after(site.view, edits)?;
    let unreadable = || "the document could not be read again after the change".to_owned();
    let changed = Site::of(&view).ok_or_else(unreadable)?;
    let new = match claim.new_animation {
        Some((range, _)) => {
            let found = changed
                .machine
                .animations
                .iter()
                .position(|animation| range.contains_range(animation.element));
            Some(found.ok_or_else(|| "the new animation would not be read as one".to_owned())?)
        }
        None => None,
    };
    let animation = same_animations(site, &changed, claim, new)?;
    same_things(site, &changed)?;
    same_controls(site, &changed, claim, animation)?;
    let difference = same_poses(site, &changed, claim, new)?;
    // An animation that was only taken out is for its author to find a control for.
    let expected: &[&str] = if claim.control.is_some() {
        &[]
    } else {
        &[codes::UNREACHABLE_ANIMATION.name]
    };
    no_new_findings(site, &changed, claim.places, expected)?;
    drop(changed);
    Ok(Proof {
        after: view,
        animation,
        difference,
    })
}

/// What a channel does, wherever it stands.
#[derive(Debug, Clone, PartialEq)]
struct Deed {
    /// The node's index path, or how it is written if it leads nowhere.
    node: Option<Result<NodePath, String>>,
    easing: Easing,
    motions: Vec<MotionDeed>,
}

#[derive(Debug, Clone, PartialEq)]
struct MotionDeed {
    property: Option<Property>,
    from: Option<EndValue>,
    to: Option<EndValue>,
    by: Option<EndValue>,
    axes: Option<[bool; 3]>,
    starts_here: bool,
    from_rest: bool,
    /// Seconds.
    window: Option<(f64, f64)>,
}

fn deed<'v>(site: &Site<'v>, channel: &'v Channel, earlier: f64) -> Deed {
    let node = channel
        .node
        .as_ref()
        .map(|node| match site.written_path(node) {
            Some(path) => Ok(site.comparable(path)),
            None => Err(node.text.to_string()),
        });
    let motions = channel.motions.iter().map(|motion| {
        let window = motion
            .window
            .seconds()
            .map(|(begin, end)| (begin - earlier, end - earlier));
        let value = |end: &Option<machine::Spanned<EndValue>>| end.as_ref().map(|end| end.value);
        MotionDeed {
            property: motion.property,
            from: value(&motion.from),
            to: value(&motion.to),
            by: motion.by.as_ref().map(|by| by.value),
            axes: motion.axes,
            starts_here: motion.starts_here,
            from_rest: motion.from_rest,
            window,
        }
    });
    Deed {
        node,
        easing: channel.easing,
        motions: motions.collect(),
    }
}

fn are_same(before: &Deed, after: &Deed) -> bool {
    let near = |a: &Option<(f64, f64)>, b: &Option<(f64, f64)>| match (a, b) {
        (Some(a), Some(b)) => (a.0 - b.0).abs() <= SAME_TIME && (a.1 - b.1).abs() <= SAME_TIME,
        (None, None) => true,
        _ => false,
    };
    before.node == after.node
        && before.easing == after.easing
        && before.motions.len() == after.motions.len()
        && before.motions.iter().zip(&after.motions).all(|(a, b)| {
            let said = |one: &MotionDeed| (one.property, one.from, one.to, one.by);
            let read = |one: &MotionDeed| (one.axes, one.starts_here, one.from_rest);
            said(a) == said(b) && read(a) == read(b) && near(&a.window, &b.window)
        })
}

/// Every animation is as it was, but for what the change claims. Returns the
/// one that moves the parts now.
fn same_animations(
    site: &Site<'_>,
    changed: &Site<'_>,
    claim: &Claim<'_>,
    new: Option<usize>,
) -> Result<usize, String> {
    let (before, after) = (site.machine, changed.machine);
    if after.animations.len() != before.animations.len() + usize::from(new.is_some()) {
        return Err("the change would make or lose animations".to_owned());
    }
    let is_new = |at: &usize| Some(*at) == new;
    let kept = (0..after.animations.len()).filter(|at| !is_new(at));
    for (at, (was, now)) in before
        .animations
        .iter()
        .zip(kept.map(|at| &after.animations[at]))
        .enumerate()
    {
        let is_source = new.is_some() && at == claim.parts.animation;
        let stays: Vec<&Channel> = if is_source {
            claim.parts.others_of(site)
        } else {
            was.channels.iter().collect()
        };
        let same_name =
            was.name.as_ref().map(|name| &name.value) == now.name.as_ref().map(|name| &name.value);
        let may_be_shorter = is_source && (now.length() - now.last_end()).abs() <= SAME_TIME;
        let same_length = (was.length() - now.length()).abs() <= SAME_TIME || may_be_shorter;
        if !same_name || !same_length || !do_the_same(site, &stays, changed, now, 0.0) {
            return Err(format!(
                "{} would not stay as it is",
                site.animation_label(was)
            ));
        }
    }
    let Some((new, (_, earlier))) = new.zip(claim.new_animation) else {
        return Ok(claim.parts.animation);
    };
    let now = &after.animations[new];
    let moved = claim.parts.channels_of(site);
    let starts_at_zero = now
        .motions()
        .filter_map(|(_, motion)| motion.window.begin.as_ref())
        .map(|begin| begin.value);
    let first = starts_at_zero.fold(f64::INFINITY, f64::min);
    if !do_the_same(site, &moved, changed, now, earlier) || first.abs() > SAME_TIME {
        return Err("the channels would not do the same in their new animation".to_owned());
    }
    if (now.length() - now.last_end()).abs() > SAME_TIME {
        return Err("the new animation would not end with its last channel".to_owned());
    }
    Ok(new)
}

fn do_the_same<'v, 'c>(
    site: &Site<'v>,
    was: &[&'v Channel],
    changed: &Site<'c>,
    now: &'c Animation,
    earlier: f64,
) -> bool {
    was.len() == now.channels.len()
        && was
            .iter()
            .zip(&now.channels)
            .all(|(was, now)| are_same(&deed(site, was, earlier), &deed(changed, now, 0.0)))
}

fn name(name: &Option<machine::Spanned<Arc<str>>>) -> Option<Arc<str>> {
    name.as_ref().map(|name| name.value.clone())
}

type Size = (Option<f64>, Option<f64>);

fn wheels<'v>(
    site: &Site<'v>,
) -> impl Iterator<Item = (Option<Arc<str>>, Option<&'v NodePath>, Size)> {
    site.machine.wheels.iter().map(|wheel| {
        let node = wheel.node.as_ref();
        let path = node.and_then(|node| site.written_path(node));
        (name(&wheel.name), path, (wheel.radius, wheel.width))
    })
}

fn sounds(site: &Site<'_>) -> impl Iterator<Item = (Option<Arc<str>>, Option<Arc<str>>)> {
    let sounds = site.machine.sounds.iter();
    sounds.map(|sound| (name(&sound.name), name(&sound.file)))
}

fn aliases<'v>(site: &Site<'v>) -> impl Iterator<Item = (Option<Arc<str>>, Option<&'v NodePath>)> {
    site.machine.aliases.iter().map(|alias| {
        let path = alias.path.as_ref();
        let path = path.and_then(|path| site.written_path(path));
        (name(&alias.name), path)
    })
}

/// Wheels, sounds, aliases and the scene are what they were; aliases may come.
fn same_things(before: &Site<'_>, after: &Site<'_>) -> Result<(), String> {
    let kept: Vec<_> = aliases(before).collect();
    let now: HashSet<_> = aliases(after).collect();
    let same = wheels(before).eq(wheels(after))
        && sounds(before).eq(sounds(after))
        && name(&before.machine.scene) == name(&after.machine.scene)
        && kept.iter().all(|alias| now.contains(alias));
    same.then_some(())
        .ok_or_else(|| "the change would change wheels, sounds or aliases".to_owned())
}

/// Controls play what they played, and the new one what it is for.
fn same_controls(
    site: &Site<'_>,
    changed: &Site<'_>,
    claim: &Claim<'_>,
    animation: usize,
) -> Result<(), String> {
    let wanted = claim.control.as_ref();
    let is_new =
        |control: &&Control| wanted.is_some_and(|new| new.within.contains_range(control.element));
    let (new, kept): (Vec<&Control>, Vec<&Control>) =
        changed.machine.controls.iter().partition(is_new);
    let replaced = wanted.and_then(|new| new.replaces);
    let before = site.machine.controls.iter().enumerate();
    let before = before.filter(|(at, _)| Some(*at) != replaced);
    let before: Vec<&Control> = before.map(|(_, control)| control).collect();
    let mut both = before.iter().zip(&kept);
    if before.len() != kept.len()
        || !both.all(|(was, now)| does_the_same((site, was), (changed, now)))
    {
        return Err("a control would not do what it did".to_owned());
    }
    let Some(wanted) = wanted else {
        return Ok(());
    };
    let [control] = new[..] else {
        return Err("the new control would not be read as one".to_owned());
    };
    let mut wheels = carried(changed, control);
    wheels.sort_unstable();
    let role = changed.dialect.roles.controls.get(control.role);
    let carries = role.is_some_and(|role| role.wheels.is_some());
    let own = control.input.as_ref();
    let as_wanted = control.kind == Some(wanted.kind)
        && changed.played(control) == Some(animation)
        && wanted
            .input
            .is_none_or(|input| own.is_some_and(|own| *own.value == *input))
        && (!carries || wheels == wanted.wheels);
    as_wanted
        .then_some(())
        .ok_or_else(|| "the new control would not play its animation as it should".to_owned())
}

/// Whether a control does what it did before, but that it may carry fewer wheels.
fn does_the_same(
    (before, was): (&Site<'_>, &Control),
    (after, now): (&Site<'_>, &Control),
) -> bool {
    let played = |site: &Site<'_>, control: &Control| {
        let animation = site.played(control)?;
        let animation = site.machine.animations.get(animation);
        Some(animation.map(|animation| name(&animation.name)))
    };
    let had = was.wheels.iter().map(|wheel| before.wheel(wheel));
    let had: HashSet<Option<usize>> = had.collect();
    let mut has = now.wheels.iter().map(|wheel| after.wheel(wheel));
    was.kind == now.kind
        && name(&was.input) == name(&now.input)
        && played(before, was) == played(after, now)
        && has.all(|wheel| had.contains(&wheel))
        && was.sounds.len() == now.sounds.len()
}

/// Every node stands where it stood: at both ends of the old animation, and in
/// between at the same times.
fn same_poses(
    site: &Site<'_>,
    changed: &Site<'_>,
    claim: &Claim<'_>,
    new: Option<usize>,
) -> Result<Option<Difference>, String> {
    let (Some(before), Some(after)) = (&site.rig, &changed.rig) else {
        return Ok(None);
    };
    let source = claim.parts.animation;
    let Some(was) = site.machine.animations.get(source) else {
        return Ok(None);
    };
    let kept_at = match new {
        Some(new) if new <= source => source + 1,
        _ => source,
    };
    // Asked once: there may be as many moments as motions, and each length takes a look at all motions.
    let length = |rig: &Rig<'_>, at: usize| {
        let animation = rig.machine.animations.get(at);
        (at, animation.map_or(0.0, Animation::length))
    };
    let (kept, new) = (length(after, kept_at), new.map(|new| length(after, new)));
    let end = was.length();
    let earlier = claim.new_animation.map_or(0.0, |(_, earlier)| earlier);
    let mut times = inner_times(was);
    times.extend([0.0, end]);
    let moments: Vec<(Moment, Moment)> = times
        .into_iter()
        .map(|time| {
            let within = |(at, length): (usize, f64), moment: f64| match time >= end {
                true => (at, length),
                false => (at, moment.clamp(0.0, length)),
            };
            let mut moment = vec![within(kept, time)];
            moment.extend(new.map(|new| within(new, time - earlier)));
            (vec![(source, time)], moment)
        })
        .collect();
    let difference = motion::compare(before, after, &moments)
        .map_err(|mismatch| format!("the poses could not be compared: {mismatch}"))?;
    let worst = difference
        .metres
        .max(difference.degrees)
        .max(difference.scale);
    if worst > TOLERANCE {
        return Err(format!(
            "the poses would differ by up to {} m and {} degrees",
            site.dialect.write_number(difference.metres),
            site.dialect.write_number(difference.degrees)
        ));
    }
    Ok(Some(difference))
}

/// Times in the middle between any two at which something begins or ends:
/// where all is on its way.
fn inner_times(animation: &Animation) -> Vec<f64> {
    let windows = animation
        .motions()
        .filter_map(|(_, motion)| motion.window.seconds());
    let mut marks: Vec<f64> = windows.flat_map(|(begin, end)| [begin, end]).collect();
    let end = animation.length();
    marks.push(end);
    // Nothing goes on after the animation is over.
    marks.retain(|mark| (0.0..=end).contains(mark));
    marks.sort_by(f64::total_cmp);
    marks
        .windows(2)
        .filter(|pair| pair[1] - pair[0] > SAME_TIME)
        .map(|pair| pair[0].midpoint(pair[1]))
        .collect()
}

/// Tries a change on paper that may write nodes in other words, and nothing
/// else: every place leads to the node it led to.
///
/// # Errors
/// What turned out otherwise, as a sentence.
pub(crate) fn keeps_nodes(site: &Site<'_>, edits: &[TextEdit]) -> Result<(), String> {
    let changed = || -> Result<(), String> {
        let view = after(site.view, edits)?;
        let changed =
            Site::of(&view).ok_or("the document could not be read again after the change")?;
        let (was, now) = (nodes_used(site), nodes_used(&changed));
        let same = was.len() == now.len()
            && was
                .iter()
                .zip(&now)
                .all(|(was, now)| was.is_none() || was == now);
        if !same {
            return Err("a place would lead to another node".to_owned());
        }
        no_new_findings(site, &changed, &[], &[])
    };
    changed().map_err(|reason| format!("Nothing was changed: {}.", reason.trim_end_matches('.')))
}

/// The nodes that a document asks for outside of its aliases, in its order.
fn nodes_used(site: &Site<'_>) -> Vec<Option<NodePath>> {
    let machine = site.machine;
    let aliases = Stretches::of(machine.aliases.iter().map(|alias| alias.element));
    let in_alias = |used: &machine::Use| aliases.touch(used.range);
    let mut uses: Vec<&machine::Use> = machine.uses.iter().filter(|used| !in_alias(used)).collect();
    uses.sort_by_key(|used| used.range.start());
    let node = |used: &machine::Use| match &used.target {
        UseTarget::Path(path) => Some(Some(path.clone())),
        UseTarget::Name {
            or_path,
            or_node,
            kinds,
            ..
        } => {
            let kinds_of_aliases = || {
                site.dialect
                    .roles
                    .aliases
                    .iter()
                    .any(|role| kinds.contains(&role.kind))
            };
            let path = match site.target_of(used) {
                Some(definition) => {
                    let alias = site.alias(definition);
                    alias
                        .and_then(|alias| site.written_path(alias.path.as_ref()?))
                        .cloned()
                }
                None => or_node.as_deref().cloned(),
            };
            (*or_path || or_node.is_some() || kinds_of_aliases()).then_some(path)
        }
        _ => None,
    };
    let nodes = uses.into_iter().filter_map(node);
    nodes
        .map(|path| path.map(|path| site.comparable(&path)))
        .collect()
}

/// Nothing is wrong after the change that was not wrong before, places to fill
/// in and codes that are to be expected aside.
fn no_new_findings(
    site: &Site<'_>,
    changed: &Site<'_>,
    places: &[TextRange],
    expected: &[&str],
) -> Result<(), String> {
    let judged = checks::judge(site.view);
    // What was accepted there may be out of its comment's reach now.
    let accepted = judged.accepted.into_iter().map(|accepted| accepted.finding);
    let mut known: Vec<Finding> = judged.findings.into_iter().chain(accepted).collect();
    // What is wrong with an empty text is said at the name of its element.
    let names = places.iter().filter_map(|place| {
        let holder = changed.view.tree().elements_at(place.start()).pop()?;
        let is_text = holder.content_range()?.contains_range(*place);
        is_text.then(|| holder.name_range())
    });
    let places: Vec<TextRange> = places.iter().copied().chain(names).collect();
    let is_to_fill_in =
        |range: TextRange| places.iter().any(|place| place.intersect(range).is_some());
    let mut unknown = Vec::new();
    for finding in checks::run(changed.view) {
        // A hint is no fault: in a learnt dialect, it says what others write otherwise.
        let is_hint = finding.severity == Severity::Hint;
        if is_hint || is_to_fill_in(finding.range) || expected.contains(&finding.code) {
            continue;
        }
        let same = known
            .iter()
            .position(|known| known.code == finding.code && known.message == finding.message);
        match same {
            Some(at) => {
                known.swap_remove(at);
            }
            None => unknown.push(finding),
        }
    }
    // What moved along may be told in other words now.
    unknown.retain(
        |finding| match known.iter().position(|known| known.code == finding.code) {
            Some(at) => {
                known.swap_remove(at);
                false
            }
            None => true,
        },
    );
    match unknown.first() {
        None => Ok(()),
        Some(finding) => Err(format!(
            "the check `{}` would find something on line {}: {}",
            finding.code,
            changed.line(finding.range.start()),
            finding.message
        )),
    }
}
