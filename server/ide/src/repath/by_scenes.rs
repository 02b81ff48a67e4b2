//! The old scene is there: its nodes are looked for in the new one.

use scene::{Fate, Matching, Scene};

use super::{Outcome, Paths, Repath, label};
use project::View;

/// What becomes of each index path when `old`, for which they were written, gives way to `new`.
///
/// # Errors
/// No dialect fits the document.
pub fn by_scenes(view: &View, old: &Scene, new: &Scene) -> Result<Repath, String> {
    let matching = Matching::of(old, new);
    let paths = Paths::of(view)?;
    paths.repath(|path| {
        let Ok(node) = old.walk(path.positions) else {
            return (None, Outcome::Nowhere);
        };
        let outcome = match matching.fates.get(node.index()) {
            Some(Fate::Found(found)) => paths.found(path, new, found.node, found.confidence),
            Some(Fate::Unsure(candidates)) => {
                let targets = candidates.iter();
                let targets = targets.map(|one| paths.target(new, one.node, one.confidence));
                Outcome::Unsure(targets.collect())
            }
            Some(Fate::Gone) | None => Outcome::Gone,
        };
        (Some(label(old, node)), outcome)
    })
}

/// Whether the definition may have been written for a scene: every path leads somewhere in it, and no alias away from
/// the node of its name.
pub(crate) fn fits(view: &View, scene: &Scene) -> bool {
    let leads = |paths: Paths<'_>| {
        let mut written = paths.written.iter();
        written.all(|path| scene.walk(path.positions).is_ok())
    };
    Paths::of(view).is_ok_and(leads)
        && super::by_names(view, scene).is_ok_and(|found| found.moved() == 0)
}
