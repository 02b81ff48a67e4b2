//! What a definition says about one of its own things: an alias, a wheel, an
//! animation, a control …

use super::{
    grammar::labelled,
    motion,
    node::{listed, node_facts, seconds},
};
use crate::{
    nodes::{Nodes, with_unit},
    owners::uses_in,
    prose::{Line, Prose},
};
use dialect::{Dialect, Property, Quantity};
use foldhash::HashMap;
use machine::{Animation, Channel, Control, Motion, NodeRef, Outline, WheelTarget};
use project::View;
use syntax::TextRange;

/// The facts about the element with this very range; empty if it is nothing special.
pub(crate) fn facts(view: &View, element: TextRange) -> Prose {
    let (Some(meaning), Some(dialect)) = (&view.meaning, view.dialect()) else {
        return Prose::new();
    };
    let outline = &*meaning.outline;
    if let Some(sound) = outline.sound(element) {
        let file = sound
            .file
            .as_ref()
            .map(|file| Line::new().code(&*file.value))
            .unwrap_or_default();
        let name = sound.name.as_ref().map_or("", |name| &name.value);
        let players = controls(outline)
            .filter(|control| control.sounds.iter().any(|cue| *cue.value == *name));
        return Prose::new().item(labelled("File: ", file)).item(labelled(
            "Played with: ",
            listed(players.map(control_line).collect()),
        ));
    }
    if let Some(animation) = outline.animation(element) {
        return animation_facts(dialect, outline, &animation);
    }
    if let Some(control) = outline.control(element) {
        return control_facts(outline, &control).then(motion::of_control(view, control));
    }
    let own = match outline.channel(element) {
        Some(channel) => channel_facts(dialect, &channel).then(motion::of_channel(view, &channel)),
        None => wheel_facts(dialect, outline, element),
    };
    own.then(facts_of_node(view, element))
}

fn controls(outline: &Outline) -> impl Iterator<Item = &Control> {
    outline
        .all(|facts| &facts.controls)
        .map(|(_, control)| control)
}

/// About the node that the element asks for, if it asks for just one.
fn facts_of_node(view: &View, element: TextRange) -> Prose {
    let path = view.tree().element_with_range(element);
    let Some(own) = path.as_ref().and_then(|path| path.last()) else {
        return Prose::new();
    };
    let uses = uses_in(view, *own);
    let Some(nodes) = Nodes::of(view).filter(|_| !uses.is_empty()) else {
        return Prose::new();
    };
    let mut found: Vec<_> = uses.iter().filter_map(|used| nodes.of_use(used)).collect();
    found.dedup();
    match found[..] {
        [id] => node_facts(view, &nodes, id, Some(element)),
        _ => Prose::new(),
    }
}

fn wheel_facts(dialect: &Dialect, outline: &Outline, element: TextRange) -> Prose {
    let Some((index, wheel)) = outline.wheel(element) else {
        return Prose::new();
    };
    let length = |label: &str, length: Option<f64>| match length {
        Some(length) => Line::new().text(format!(
            "{label}: {}",
            with_unit(dialect, length, Quantity::Length)
        )),
        None => Line::new(),
    };
    let path = |node: &NodeRef| outline.path_of(node);
    let own = wheel.node.as_ref().and_then(path);
    let is_it = |target: &WheelTarget| match target {
        WheelTarget::Name(name) => wheel.name.as_ref().is_some_and(|own| own.value == *name),
        WheelTarget::Position(at) => usize::try_from(*at) == Ok(index),
        WheelTarget::Node(node) => own.is_some() && path(node) == own,
    };
    let carriers =
        controls(outline).filter(|control| control.wheels.iter().any(|word| is_it(&word.target)));
    Prose::new()
        .item(length("Radius", wheel.radius))
        .item(length("Width", wheel.width))
        .item(labelled(
            "Carried by: ",
            listed(carriers.map(control_line).collect()),
        ))
}

fn animation_facts(dialect: &Dialect, outline: &Outline, animation: &Animation) -> Prose {
    let length = match &animation.duration {
        Some(written) => seconds(dialect, written.value),
        None => format!(
            "{} (the end of the last channel)",
            seconds(dialect, animation.last_end())
        ),
    };
    let mut parts: Vec<(&str, Vec<&str>)> = Vec::new();
    let mut known: HashMap<&str, usize> = HashMap::default();
    for (channel, motion) in animation.motions() {
        let Some(node) = &channel.node else { continue };
        let property = motion.property.map_or("motion", Property::as_str);
        let at = *known.entry(&node.text).or_insert(parts.len());
        if at == parts.len() {
            parts.push((&node.text, Vec::new()));
        }
        let (_, properties) = &mut parts[at];
        if !properties.contains(&property) {
            properties.push(property);
        }
    }
    let parts = parts.into_iter().map(|(part, properties)| {
        Line::new()
            .code(part)
            .text(format!(" ({})", properties.join(", ")))
    });
    let players = controls(outline).filter(|control| {
        let played = control.animation.as_ref().map(|name| &*name.value);
        played.is_some_and(|name| animation.is_called(name))
    });
    Prose::new()
        .item(Line::new().text(format!("Length: {length}")))
        .item(labelled("Parts: ", listed(parts.collect())))
        .item(match listed(players.map(player_line).collect()) {
            line if line.is_empty() => Line::new().text("Nothing plays it."),
            line => labelled("Played by: ", line),
        })
}

fn channel_facts(dialect: &Dialect, channel: &Channel) -> Prose {
    let together = |a: &Motion, b: &Motion| {
        a.is_keyed && b.is_keyed && a.property == b.property && a.axes == b.axes
    };
    let runs = channel.motions.chunk_by(together);
    runs.fold(Prose::new(), |prose, run| {
        prose.item(motion_line(dialect, run))
    })
}

/// "translation from 0 to 2 seconds". `run`: one motion, or those between keyframes.
fn motion_line(dialect: &Dialect, run: &[Motion]) -> Line {
    let property = run.first().and_then(|motion| motion.property);
    let property = property.map_or("motion", Property::as_str);
    let begin = run.first().and_then(|motion| motion.window.begin.as_ref());
    let end = run.last().and_then(|motion| motion.window.end.as_ref());
    let Some((begin, end)) = begin.zip(end) else {
        return Line::new().text(format!("Moves: {property}"));
    };
    let unit = dialect.notation.units.of(Quantity::Time);
    let keyframes = match run {
        [first, .., _] if first.is_keyed => format!(", {} keyframes", run.len() + 1),
        _ => String::new(),
    };
    Line::new().text(format!(
        "Moves: {property}, from {} to {}{keyframes}",
        dialect.write_number(unit.from_base(begin.value)),
        seconds(dialect, end.value)
    ))
}

fn control_facts(outline: &Outline, control: &Control) -> Prose {
    let code = |value: Option<&str>| {
        value
            .map(|value| Line::new().code(value))
            .unwrap_or_default()
    };
    let wheels = control.wheels.iter().map(|word| match &word.target {
        WheelTarget::Name(name) => Line::new().code(&**name),
        WheelTarget::Node(node) => Line::new().code(&*node.text),
        WheelTarget::Position(at) => {
            let mut wheels = outline.all(|facts| &facts.wheels);
            let wheel = usize::try_from(*at).ok().and_then(|at| wheels.nth(at));
            code(wheel.and_then(|(_, wheel)| wheel.label()))
        }
    });
    let sounds = control
        .sounds
        .iter()
        .map(|sound| Line::new().code(&*sound.value));
    Prose::new()
        .item(match control.kind {
            Some(kind) => Line::new().text(format!("Control: {}", kind.as_str())),
            None => Line::new(),
        })
        .item(labelled(
            "Plays: ",
            code(control.animation.as_ref().map(|name| &*name.value)),
        ))
        .item(labelled(
            "Input: ",
            code(control.input.as_ref().map(|input| &*input.value)),
        ))
        .item(labelled(
            "Carries: ",
            listed(wheels.filter(|line| !line.is_empty()).collect()),
        ))
        .item(labelled("Sounds: ", listed(sounds.collect())))
}

/// The controls that use an input, apart from one.
pub(crate) fn controls_of_input(
    outline: &Outline,
    input: &str,
    apart: Option<TextRange>,
) -> Vec<Line> {
    let same = outline
        .all(|facts| &facts.controls)
        .filter(|(entry, control)| {
            let used = control.input.as_ref().map(|used| &*used.value);
            used == Some(input) && Some(entry.placed(&control.element)) != apart
        });
    same.map(|(_, control)| control_line(control)).collect()
}

/// A control in a few words: what the player reads, and what it plays.
fn control_line(control: &Control) -> Line {
    let played = control.animation.as_ref();
    described(control, played.map(|name| &*name.value))
}

/// The same for somebody who knows what it plays: with its input.
fn player_line(control: &Control) -> Line {
    let input = control.input.as_ref();
    described(control, input.map(|input| &*input.value))
}

fn described(control: &Control, beside: Option<&str>) -> Line {
    let text = control.text.as_ref().map(|text| &*text.value);
    match (text.filter(|text| !text.is_empty()), beside) {
        (Some(text), Some(beside)) => Line::new()
            .text(format!("“{text}” ("))
            .code(beside)
            .text(")"),
        (Some(text), None) => Line::new().text(format!("“{text}”")),
        (None, Some(beside)) => Line::new().code(beside),
        (None, None) => Line::new().text("a control"),
    }
}
