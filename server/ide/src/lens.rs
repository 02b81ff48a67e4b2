//! What stands above names and motions: how often a name is used, and that an animation can be played.

use foldhash::{HashMap, HashSet};

use dialect::Kind;
use machine::UseTarget;
use project::View;
use syntax::TextRange;

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
    let mut uses: HashMap<&str, Vec<&[Kind]>> = HashMap::default();
    for (_, used) in outline.all(|facts| &facts.uses) {
        if let UseTarget::Name { kinds, name, .. } = &used.target {
            uses.entry(name).or_default().push(kinds);
        }
    }
    let given = outline.all(|facts| &facts.definitions);
    let mut lenses: Vec<Lens> = given
        .map(|(entry, given)| {
            let all = uses.get(given.name.value.as_str()).into_iter().flatten();
            let count = all.filter(|kinds| kinds.contains(&given.kind)).count();
            Lens {
                range: entry.placed(&given.name.range),
                kind: LensKind::Uses(count),
            }
        })
        .collect();
    let animations = outline.all(|facts| &facts.animations);
    let animations: Vec<_> = animations
        .filter_map(|(entry, one)| Some((entry, one.name.as_ref()?)))
        .collect();
    let controls = outline.all(|facts| &facts.controls);
    let controls = controls.filter_map(|(entry, one)| Some((entry, one.animation.as_ref()?)));
    let names = animations.iter().map(|(_, name)| name.value.as_str());
    let there: HashSet<&str> = names.collect();
    let controls = controls.filter(|(_, name)| there.contains(name.value.as_str()));
    let played = animations.iter().copied().chain(controls);
    lenses.extend(played.map(|(entry, name)| Lens {
        range: entry.placed(&name.range),
        kind: LensKind::Play(name.value.clone()),
    }));
    lenses.sort_by_key(|lens| lens.range.start());
    lenses
}

#[cfg(test)]
mod tests;
