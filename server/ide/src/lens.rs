//! What stands above names, motions and controls: how often a name is used, that an animation can be played, and that
//! others have done the same.

use std::sync::Arc;

use foldhash::{HashMap, HashSet};

use dialect::{Kind, NameScope};
use machine::{Entry, Outline, Spanned, UseTarget};
use project::View;
use syntax::TextRange;

use crate::precedents::spot;

/// Something to say about a place, or to do with it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lens {
    /// Within one line, mostly a name.
    pub range: TextRange,
    pub kind: LensKind,
}

/// What it says or does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LensKind {
    /// A name is used so often in this document.
    Uses(usize),
    /// The animation of this name can be played.
    Play(String),
    /// So many machines of the library have an element where this one stands, at least one.
    Precedents(u32),
}

/// The lenses of a document, by place; none if the settings do not want them.
pub fn lenses(view: &View) -> Vec<Lens> {
    let Some(meaning) = view
        .meaning
        .as_ref()
        .filter(|_| view.settings.config.has_lenses)
    else {
        return Vec::new();
    };
    let outline = &meaning.outline;
    let mut uses: HashMap<(&Kind, &str), usize> = HashMap::default();
    for (_, used) in outline.all(|facts| &facts.uses) {
        if let UseTarget::Name { kinds, name, .. } = &used.target {
            for kind in kinds.iter() {
                *uses.entry((kind, &**name)).or_default() += 1;
            }
        }
    }
    let given = outline.all(|facts| &facts.definitions);
    let mut lenses: Vec<Lens> = given
        .filter_map(|(entry, given)| {
            let count = uses.get(&(&given.kind, &*given.name.value));
            let count = count.copied().unwrap_or(0);
            // Other documents may use it.
            let is_everywhere = meaning.dialect.name_scope(&given.kind) == NameScope::Folder;
            (count > 0 || !is_everywhere).then(|| Lens {
                range: entry.placed(&given.name.range),
                kind: LensKind::Uses(count),
            })
        })
        .collect();
    let animations = outline.all(|facts| &facts.animations);
    let animations: Vec<_> = animations
        .filter_map(|(entry, one)| Some((entry, one.name.as_ref()?)))
        .collect();
    let controls = outline.all(|facts| &facts.controls);
    let controls = controls.filter_map(|(entry, one)| Some((entry, one.animation.as_ref()?)));
    let names = animations.iter().map(|(_, name)| &*name.value);
    let there: HashSet<&str> = names.collect();
    let controls = controls.filter(|(_, name)| there.contains(&*name.value));
    let play = |(entry, name): (&Entry, &Spanned<Arc<str>>)| Lens {
        range: entry.placed(&name.range),
        kind: LensKind::Play(name.value.to_string()),
    };
    let controls: Vec<Lens> = controls.map(play).collect();
    let own: HashSet<TextRange> = controls.iter().map(|lens| lens.range).collect();
    // A control that stands in what it plays uses the name where it is given.
    lenses.retain(|lens| lens.kind != LensKind::Uses(0) || !own.contains(&lens.range));
    let animations = animations.into_iter().map(play);
    lenses.extend(animations.filter(|lens| !own.contains(&lens.range)));
    lenses.extend(controls);
    lenses.extend(precedents(view, outline));
    lenses.sort_by_key(|lens| lens.range.start());
    lenses
}

/// Above animations and controls: what people look up elsewhere before they write it.
fn precedents(view: &View, outline: &Outline) -> Vec<Lens> {
    if view.library.is_none() {
        return Vec::new();
    }
    let animations = outline.all(|facts| &facts.animations);
    let animations = animations.map(|(entry, one)| entry.placed(&one.element));
    let controls = outline.all(|facts| &facts.controls);
    let controls = controls.map(|(entry, one)| entry.placed(&one.element));
    // Many stand in the same place, for which the library has one answer.
    let mut known: HashMap<Vec<&str>, u32> = HashMap::default();
    let lenses = animations.chain(controls).filter_map(|range| {
        let path = view.tree().element_with_range(range)?;
        let names = path.iter().map(|element| element.local_name()).collect();
        let machines = *known
            .entry(names)
            .or_insert_with(|| spot(view, &path).map_or(0, |spot| spot.machines()));
        let range = path.last()?.name_range();
        let kind = LensKind::Precedents(machines);
        (machines > 0).then_some(Lens { range, kind })
    });
    lenses.collect()
}

#[cfg(test)]
mod tests;
