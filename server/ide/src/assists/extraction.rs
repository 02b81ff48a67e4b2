//! Taking channels out of an animation into one of their own.

mod comments;
mod source;

pub(crate) use source::Source;

use super::{
    parts::Parts,
    site::Site,
    windows::{self, WrittenTime, time_like, written_times},
};
use crate::writer::{
    Lines, Names, NewAttribute, NewElement, NewItem, Parent, complete, declaration, remove_elements,
};
use comments::with_comments;
use dialect::{
    ChannelRole, ControlKind, Ends, ItemType, Leaf, Path, Place, Rule, StepKind, Window,
};
use machine::UseTarget;
use std::collections::HashSet;
use syntax::{Element, TextEdit, TextRange};

/// Seconds. Times closer than this are the same.
pub(crate) const SAME_TIME: f64 = 1e-9;

/// What taking channels out comes to.
#[derive(Debug)]
pub(crate) struct Extraction<'v> {
    /// The new animation, with the channels in it.
    pub(crate) element: NewElement,
    /// Where it goes.
    pub(crate) parent: Parent<'v>,
    /// Its name, where the dialect has names for animations.
    pub(crate) name: Option<String>,
    /// Edits of the animation that the channels come from.
    pub(crate) edits: Vec<TextEdit>,
    /// Seconds by which the channels begin earlier than they did.
    pub(crate) earlier: f64,
}

/// What else of the old animation the new one gets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Copied {
    /// All its attributes: it is to behave as the old one.
    All,
    /// What the channels are read from and the grammar asks for.
    Needed,
}

/// Plans to take channels out. `name`: what the new animation is called.
pub(crate) fn extract<'v>(
    site: &Site<'v>,
    parts: &Parts,
    source: &Source<'v>,
    name: &str,
    copied: Copied,
    names: &mut Names,
) -> Result<Extraction<'v>, String> {
    if parts.are_all(site) {
        return Err(
            "the animation has no other channels, so there is nothing to take these out of"
                .to_owned(),
        );
    }
    let lasting = parts
        .animation_of(site)
        .and_then(|animation| animation.duration.as_ref());
    if lasting.is_some_and(|lasting| lasting.value < last_end(&parts.channels_of(site)) - SAME_TIME)
    {
        return Err(
            "the animation is over before these channels end, which has to be mended first"
                .to_owned(),
        );
    }
    let is_beside = source.is_beside()?;
    let moved = moved_elements(source, is_beside);
    if moved.iter().any(|range| *range == source.element.range()) {
        return Err("in this dialect the animation itself is its only channel".to_owned());
    }
    let times = all_times(site, source);
    let earlier = first_begin(site, parts)?;
    let channels = parts.channels_of(site);
    if let Some(first) = channels.first()
        && last_end(&channels) - earlier < SAME_TIME
    {
        return Err(format!(
            "the channel on line {} begins and ends in the same moment, which has to be mended first",
            site.line(first.element.start())
        ));
    }
    let edits = if earlier.abs() < SAME_TIME {
        Vec::new()
    } else {
        windows::moved(site, &times, earlier)
    };
    let inherited = inherited_attributes(site);
    stands_with_the_channels(site, source, parts, &moved, &inherited, &edits)?;

    let mut element = NewElement::new(
        source.element.local_name(),
        source
            .chain
            .last()
            .map_or(dialect::Context::ELSEWHERE, |at| at.context),
    );
    let mut copier = Copier {
        site,
        moved: if is_beside { &[] } else { &moved },
        edits: &edits,
        names,
    };
    element.attributes = copier.attributes(&source.element, element.context, |name| {
        let names_a_space = name == "xmlns" || name.starts_with("xmlns:");
        copied == Copied::All || names_a_space || inherited.contains(name)
    });
    drop_role_values(source, &mut element);
    element.content = copier.content(source.element, element.context);
    if let Some(step) = source.role.at.steps().last() {
        element
            .satisfy(site.dialect, &step.predicates)
            .map_err(|error| error.to_string())?;
    }
    let name = match &source.role.name {
        Some(path) => {
            let taken = names.take(&source.role.kind, name);
            element
                .set(site.dialect, path, &taken)
                .map_err(|error| error.to_string())?;
            Some(taken)
        }
        None => None,
    };
    set_duration(site, parts, source, earlier, &mut element)?;
    complete(
        site.dialect,
        site.machine,
        &mut element,
        names,
        name.as_deref().unwrap_or_default(),
    );

    let mut edits = if is_beside {
        let renamed = source.renamed(site, name.as_deref())?;
        edits.into_iter().chain(renamed).collect()
    } else {
        let with_comments: Vec<TextRange> = moved
            .iter()
            .map(|range| with_comments(site, *range, &moved))
            .collect();
        remove_elements(site.text(), &with_comments)
    };
    edits.extend(source_duration(site, parts, source)?);
    Ok(Extraction {
        element,
        parent: place(site, parts, source),
        name,
        edits,
        earlier,
    })
}

/// What is moved: the channels, and elements around them that hold nothing
/// else. What stands beside the animation stays where it is.
fn moved_elements(source: &Source<'_>, is_beside: bool) -> Vec<TextRange> {
    let mut moved: HashSet<TextRange> = HashSet::new();
    let mut around: Vec<Element<'_>> = Vec::new();
    for (_, chain) in &source.channels {
        let outside = match is_beside {
            true => chain.len().saturating_sub(1),
            false => source.chain.len(),
        };
        let inner = chain.iter().skip(outside).map(|at| at.element);
        let mut inner: Vec<Element<'_>> = inner.collect();
        match inner.pop() {
            Some(channel) => moved.insert(channel.range()),
            None => moved.insert(source.element.range()),
        };
        around.extend(inner);
    }
    // Innermost first, so that an element whose children all move is known to move when its parent is looked at.
    around.sort_by_key(|element| std::cmp::Reverse(element.range().start()));
    around.dedup();
    for element in around {
        let mut children = element.children();
        let all_move = children.all(|child| moved.contains(&child.range()));
        if all_move && !machine::has_text(element) {
            moved.insert(element.range());
        }
    }
    let is_inside = |range: &TextRange| {
        moved
            .iter()
            .any(|other| other != range && other.contains_range(*range))
    };
    let mut outermost: Vec<TextRange> = moved
        .iter()
        .filter(|range| !is_inside(range))
        .copied()
        .collect();
    outermost.sort_by_key(|range| range.start());
    // Elements that are read twice are one element; what stands in a moved one moves with it.
    outermost.dedup();
    outermost
}

fn all_times<'v>(site: &Site<'v>, source: &Source<'v>) -> Vec<WrittenTime<'v>> {
    let mut known = HashSet::new();
    let channels = source.channels.iter();
    let times = channels.flat_map(|(role, chain)| written_times(site, chain, role));
    times.filter(|time| known.insert(time.range)).collect()
}

/// Seconds: when the first of the channels begins.
fn first_begin(site: &Site<'_>, parts: &Parts) -> Result<f64, String> {
    let mut first: Option<f64> = None;
    for channel in parts.channels_of(site) {
        for motion in &channel.motions {
            let line = site.line(channel.element.start());
            let (Some(begin), Some(end)) = (&motion.window.begin, &motion.window.end) else {
                return Err(format!(
                    "the times of the channel on line {line} cannot be read"
                ));
            };
            if end.value < begin.value {
                return Err(format!(
                    "the channel on line {line} ends before it begins, which has to be mended first"
                ));
            }
            first = Some(first.map_or(begin.value, |first| first.min(begin.value)));
        }
    }
    first.ok_or_else(|| "these channels move nothing that can be read".to_owned())
}

/// The attributes of elements around channels that channels are read from.
fn inherited_attributes(site: &Site<'_>) -> HashSet<String> {
    let upward = |path: &&Path| {
        path.steps()
            .iter()
            .any(|step| step.kind == StepKind::Parent)
    };
    let roles = site.dialect.roles.channels.iter();
    roles
        .flat_map(channel_paths)
        .filter(upward)
        .filter_map(|path| match path.leaf() {
            Leaf::Attribute(name) => Some(name.clone()),
            _ => None,
        })
        .collect()
}

/// All paths that a channel is read by.
fn channel_paths(role: &ChannelRole) -> Vec<&Path> {
    let mut paths = vec![&role.node];
    paths.extend(&role.animation);
    paths.extend(role.window.iter().flat_map(Window::paths));
    paths.extend(role.easing.iter().map(|rule| &rule.at));
    for motion in &role.motions {
        if let Rule::Read(rule) = &motion.property {
            paths.push(&rule.at);
        }
        paths.extend(motion.ends.paths());
        paths.extend(
            motion
                .ends
                .places()
                .into_iter()
                .filter_map(Place::axis_path),
        );
        if let Ends::Keyframes(keyframes) = &motion.ends {
            paths.extend(keyframes.paths());
        }
        paths.extend(motion.window.iter().flat_map(Window::paths));
    }
    paths
}

/// Refuses where the channels are read from something that does not go with
/// them.
fn stands_with_the_channels(
    site: &Site<'_>,
    source: &Source<'_>,
    parts: &Parts,
    moved: &[TextRange],
    inherited: &HashSet<String>,
    edits: &[TextEdit],
) -> Result<(), String> {
    let goes_along = |range: TextRange| {
        let is_copied = || {
            let channels = source.channels.iter();
            let copied = channels.filter(|(role, _)| role.animation.is_none());
            let around = copied.flat_map(|(_, chain)| chain.iter().skip(source.chain.len() - 1));
            around.map(|at| at.element).any(|element| {
                let on_source = element == source.element;
                element.attributes().any(|attribute| {
                    let there = attribute
                        .value_range()
                        .is_some_and(|value| value.contains_range(range));
                    there && (!on_source || inherited.contains(attribute.name()))
                })
            })
        };
        moved.iter().any(|moved| moved.contains_range(range)) || is_copied()
    };
    let refuse = |range: TextRange, what: &str| {
        Err(format!(
            "{what} stands on line {}, outside of the channels, where others may share it",
            site.line(range.start())
        ))
    };
    for channel in parts.channels_of(site) {
        if let Some(node) = channel.node.as_ref().filter(|node| !goes_along(node.range)) {
            return refuse(node.range, "the node they move");
        }
        for motion in &channel.motions {
            if let Some(range) = motion
                .property_range
                .range()
                .filter(|range| !goes_along(*range))
            {
                return refuse(range, "the property they move");
            }
            let mut ends = motion.values().map(|end| end.range);
            if let Some(range) = ends.find(|range| !goes_along(*range)) {
                return refuse(range, "a value they move to");
            }
            let times = [&motion.window.begin, &motion.window.end]
                .into_iter()
                .flatten()
                .map(|time| time.range);
            if let Some(range) = times.into_iter().find(|range| !goes_along(*range)) {
                return refuse(range, "a time of theirs");
            }
        }
    }
    match edits.windows(2).find(|pair| {
        pair[0]
            .range
            .intersect(pair[1].range)
            .is_some_and(|common| !common.is_empty())
    }) {
        Some(pair) => refuse(
            pair[0].range,
            "a time that cannot be told from its neighbour",
        ),
        None => Ok(()),
    }
}

/// Copies parts of the document into a new element.
struct Copier<'c, 'v> {
    site: &'c Site<'v>,
    moved: &'c [TextRange],
    edits: &'c [TextEdit],
    names: &'c mut Names,
}

impl Copier<'_, '_> {
    /// Moved elements as they are, elements around them by their attributes.
    fn content(&mut self, element: Element<'_>, context: dialect::Context) -> Vec<NewItem> {
        let lines = Lines::new(self.site.text());
        let mut content = Vec::new();
        for child in element.children() {
            let range = child.range();
            if self.moved.contains(&range) {
                let range = with_comments(self.site, range, self.moved);
                content.push(NewItem::Source {
                    name: child.local_name().to_owned(),
                    indent: lines.indent(range.start()).map(str::to_owned),
                    text: self.edited(range),
                });
            } else if self.moved.iter().any(|moved| range.contains_range(*moved)) {
                let mut around = NewElement::new(
                    child.local_name(),
                    self.site.dialect.element_context(context, &child),
                );
                around.attributes = self.attributes(&child, around.context, |_| true);
                around.content = self.content(child, around.context);
                content.push(NewItem::Element(around));
            }
        }
        content
    }

    /// Attributes as they are written; names are given anew, as no two things
    /// may share one.
    fn attributes(
        &mut self,
        element: &Element<'_>,
        context: dialect::Context,
        wanted: impl Fn(&str) -> bool,
    ) -> Vec<NewAttribute> {
        let declared = self.site.dialect.element(context);
        let mut copied = Vec::new();
        for attribute in element.attributes() {
            let Some((quote, range)) = attribute.quote().zip(attribute.value_range()) else {
                continue;
            };
            let rule = declared.and_then(|declared| declared.attribute(attribute.name()));
            let new_name = rule.and_then(|rule| match &rule.value.item {
                ItemType::NameOf(kind) => Some((kind, rule.required)),
                _ => None,
            });
            match new_name {
                Some((kind, true)) if wanted(attribute.name()) => {
                    let name = self.names.take(kind, &attribute.value());
                    copied.push(NewAttribute::new(attribute.name(), name));
                }
                Some(_) => {}
                None if wanted(attribute.name()) => copied.push(NewAttribute {
                    written: Some((self.edited(range), quote)),
                    ..NewAttribute::new(attribute.name(), attribute.value())
                }),
                None => {}
            }
        }
        copied
    }

    /// A part of the document with the edits that fall in it.
    fn edited(&self, range: TextRange) -> String {
        let inside = self
            .edits
            .iter()
            .filter(|edit| range.contains_range(edit.range));
        let shifted: Vec<TextEdit> = inside
            .map(|edit| TextEdit::replace(edit.range - range.start(), edit.insert.clone()))
            .collect();
        let text = self.site.slice(range);
        // The edits were checked not to overlap.
        syntax::apply(text, &shifted).unwrap_or_else(|_| text.to_owned())
    }
}

/// Takes out what the new animation says for itself.
fn drop_role_values(source: &Source<'_>, element: &mut NewElement) {
    let own = [&source.role.name, &source.role.duration];
    for path in own
        .into_iter()
        .flatten()
        .filter(|path| path.steps().is_empty())
    {
        if let Leaf::Attribute(name) = path.leaf() {
            element
                .attributes
                .retain(|attribute| attribute.name != *name);
        }
    }
}

/// Seconds: when the last of some channels ends.
fn last_end(channels: &[&machine::Channel]) -> f64 {
    let motions = channels.iter().flat_map(|channel| &channel.motions);
    let ends = motions.filter_map(|motion| motion.window.end.as_ref());
    ends.map(|end| end.value).fold(0.0, f64::max)
}

/// Says how long the new animation lasts, if the old one says so or the
/// grammar wants it.
fn set_duration(
    site: &Site<'_>,
    parts: &Parts,
    source: &Source<'_>,
    earlier: f64,
    element: &mut NewElement,
) -> Result<(), String> {
    let Some(path) = &source.role.duration else {
        return Ok(());
    };
    let declared = declaration(site.dialect, &[element.context], path);
    let written = site.reader.value(&source.chain, path);
    // Whether the grammar wants the value depends on whether it wants the element around it, too.
    let is_wanted = path.steps().is_empty() && declared.is_some_and(|declared| declared.required);
    if written.is_none() && !is_wanted {
        return Ok(());
    }
    let seconds = last_end(&parts.channels_of(site)) - earlier;
    let like = written.as_ref().map_or("", |written| &written.text);
    let text = match (&written, declared) {
        (Some(written), _) => time_like(site, written.value_type(), like, seconds),
        (None, Some(declared)) => time_like(site, &declared.value, like, seconds),
        (None, None) => return Ok(()),
    };
    element
        .set(site.dialect, path, &text)
        .map_err(|error| error.to_string())
}

/// Keeps what stays behind in time: a written duration that only said when the
/// last channel ends is made to say so again; one that was left out is written
/// if leaving it out would now mean less.
fn source_duration(
    site: &Site<'_>,
    parts: &Parts,
    source: &Source<'_>,
) -> Result<Option<TextEdit>, String> {
    let Some(path) = &source.role.duration else {
        return Ok(None);
    };
    let Some(animation) = parts.animation_of(site) else {
        return Ok(None);
    };
    let end_before = animation.last_end();
    let end_after = last_end(&parts.others_of(site));
    if end_after >= end_before - SAME_TIME {
        return Ok(None);
    }
    match &animation.duration {
        Some(written) => {
            let said_the_end = (written.value - end_before).abs() < SAME_TIME;
            // An axis runs over the whole length: to shorten it would change how far the rest follows the hand.
            let is_followed = site
                .players(parts.animation)
                .iter()
                .any(|control| control.kind == Some(ControlKind::Analog));
            if !said_the_end || is_followed || end_after < SAME_TIME {
                return Ok(None);
            }
            let Some(found) = site.reader.value(&source.chain, path) else {
                return Ok(None);
            };
            let text = time_like(site, found.value_type(), &found.text, end_after);
            Ok(Some(TextEdit::replace(written.range, text)))
        }
        None => {
            let contexts: Vec<_> = source.chain.iter().map(|at| at.context).collect();
            let Some(declared) = declaration(site.dialect, &contexts, path) else {
                return Ok(None);
            };
            let text = time_like(site, &declared.value, "", end_before);
            site.set_value(&source.chain, path, &text)
                .map(Some)
                .map_err(|error| error.to_string())
        }
    }
}

/// Behind the old animation; behind the last one where animations are called
/// by their positions, which must not change.
fn place<'v>(site: &Site<'v>, parts: &Parts, source: &Source<'v>) -> Parent<'v> {
    let above = source
        .chain
        .split_last()
        .map_or(&[][..], |(_, above)| above);
    let kind = &source.role.kind;
    let counted = site.machine.uses.iter().any(|used| match &used.target {
        UseTarget::Position {
            kind: counted,
            index,
        } => counted == kind && usize::try_from(*index).is_ok_and(|index| index > parts.animation),
        _ => false,
    });
    let last = || {
        let siblings = above.last()?.element.children();
        siblings
            .filter(|sibling| sibling.local_name() == source.element.local_name())
            .last()
    };
    let sibling = if counted {
        last().unwrap_or(source.element)
    } else {
        source.element
    };
    Parent::behind(above, sibling)
}
