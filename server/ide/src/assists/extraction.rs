//! Taking channels out of an animation into one of their own.

mod comments;
mod copier;
mod lengths;
mod moved;
mod shared;
mod source;

pub(crate) use source::Source;

use super::{
    parts::Parts,
    site::Site,
    windows::{self, WrittenTime, written_times},
};
use crate::writer::{Names, NewElement, Parent, remove_elements};
use comments::with_comments;
use copier::Copier;
use dialect::Leaf;
use machine::UseTarget;
use moved::moved_elements;
use shared::{inherited_attributes, stands_with_the_channels};
use std::collections::HashSet;
use syntax::{TextEdit, TextRange};

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
///
/// # Errors
/// Why it cannot be done.
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
    lengths::outlasts_its_channels(site, parts)?;
    let is_beside = source.is_beside()?;
    let moved = moved_elements(source, is_beside);
    if moved.iter().any(|range| *range == source.element.range()) {
        return Err("in this dialect the animation itself is its only channel".to_owned());
    }
    let earlier = lengths::first_begin(site, parts)?;
    let times = edited_times(site, source, earlier);
    let inherited = inherited_attributes(site);
    stands_with_the_channels(site, source, parts, &moved, &inherited, &times)?;

    let copier = Copier {
        site,
        moved: if is_beside { &[] } else { &moved },
        edits: &times,
        names: &mut *names,
    };
    let mut element = copied_animation(copier, source, copied, &inherited)?;
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
    lengths::set_duration(site, parts, source, earlier, &mut element)?;
    let named = name.as_deref().unwrap_or_default();
    site.complete(&mut element, names, named);

    let mut edits = if is_beside {
        let old = parts.animation_of(site);
        let old = old.and_then(|animation| animation.name.as_ref());
        let old = old.map(|old| &*old.value);
        source.renamed(site, old, name.as_deref(), &times)?
    } else {
        let ranges = moved.iter();
        let with_comments: Vec<TextRange> = ranges
            .map(|range| with_comments(site, *range, &moved))
            .collect();
        remove_elements(site.text(), &with_comments)
    };
    edits.extend(lengths::source_duration(site, parts, source)?);
    Ok(Extraction {
        element,
        parent: place(site, parts, source),
        name,
        edits,
        earlier,
    })
}

/// The new animation: what is copied of the old one, with the channels in it, and as its role asks for it.
fn copied_animation(
    mut copier: Copier<'_, '_>,
    source: &Source<'_>,
    copied: Copied,
    inherited: &HashSet<String>,
) -> Result<NewElement, String> {
    let context = source.chain.last().map(|at| at.context);
    let context = context.unwrap_or(dialect::Context::ELSEWHERE);
    let mut element = NewElement::new(source.element.local_name(), context);
    element.attributes = copier.attributes(&source.element, context, |name| {
        let names_a_space = name == "xmlns" || name.starts_with("xmlns:");
        copied == Copied::All || names_a_space || inherited.contains(name)
    });
    drop_role_values(source, &mut element);
    element.content = copier.content(source.element, context);
    if let Some(step) = source.role.at.steps().last() {
        element
            .satisfy(copier.site.dialect, &step.predicates)
            .map_err(|error| error.to_string())?;
    }
    Ok(element)
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

/// The edits that make the times of the channels less by some seconds.
fn edited_times(site: &Site<'_>, source: &Source<'_>, earlier: f64) -> Vec<TextEdit> {
    if earlier.abs() < SAME_TIME {
        return Vec::new();
    }
    let mut known = HashSet::new();
    let channels = source.channels.iter();
    let times = channels.flat_map(|(role, chain)| written_times(site, chain, role));
    let times: Vec<WrittenTime<'_>> = times.filter(|time| known.insert(time.range)).collect();
    windows::moved(site, &times, earlier)
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
