//! What stands above names and motions: how often a name is used, and that an animation can be played.

use std::collections::{HashMap, HashSet};

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
    let Some(machine) = view.machine().filter(|_| view.settings.config.has_lenses) else {
        return Vec::new();
    };
    let mut uses: HashMap<&str, Vec<&[Kind]>> = HashMap::new();
    for used in &machine.uses {
        if let UseTarget::Name { kinds, name, .. } = &used.target {
            uses.entry(name).or_default().push(kinds);
        }
    }
    let mut lenses: Vec<Lens> = machine
        .definitions
        .iter()
        .map(|given| {
            let all = uses.get(given.name.value.as_str()).into_iter().flatten();
            let count = all.filter(|kinds| kinds.contains(&given.kind)).count();
            Lens {
                range: given.name.range,
                kind: LensKind::Uses(count),
            }
        })
        .collect();
    let animations = machine
        .animations
        .iter()
        .filter_map(|one| one.name.as_ref());
    let controls = machine
        .controls
        .iter()
        .filter_map(|one| one.animation.as_ref());
    let there: HashSet<&str> = animations.clone().map(|name| name.value.as_str()).collect();
    lenses.extend(
        animations
            .chain(controls.filter(|name| there.contains(name.value.as_str())))
            .map(|name| Lens {
                range: name.range,
                kind: LensKind::Play(name.value.clone()),
            }),
    );
    lenses.sort_by_key(|lens| lens.range.start());
    lenses
}

#[cfg(test)]
mod tests;
