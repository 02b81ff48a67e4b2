//! The old scene is there: its nodes are looked for in the new one.

use foldhash::HashSet;
use scene::{Fate, Matching, Scene};
use syntax::TextRange;

use super::{Followed, Outcome, Paths, Repath, label};
use project::View;

/// What becomes of each index path when `old`, for which they were written, gives way to `new`.
///
/// # Errors
/// No dialect fits the document.
pub fn by_scenes(view: &View, old: &Scene, new: &Scene) -> Result<Repath, String> {
    move_along(view, old, new, &Matching::of(old, new), |_| true)
}

/// What becomes of each index path that was written for the scene as it was; others stay.
///
/// # Errors
/// No dialect fits the document, or the scene cannot be read.
pub(crate) fn follow(view: &View, followed: &Followed) -> Result<Repath, String> {
    let (Some(meaning), Some(new)) = (&view.meaning, view.scene()) else {
        return Err("The scene cannot be read.".to_owned());
    };
    let kept = followed.kept_ranges(&meaning.outline);
    let kept: HashSet<TextRange> = kept.into_iter().collect();
    move_along(view, followed.before(), new, followed.matching(), |range| {
        kept.contains(&range)
    })
}

fn move_along(
    view: &View,
    old: &Scene,
    new: &Scene,
    matching: &Matching,
    was_written_for_old: impl Fn(TextRange) -> bool,
) -> Result<Repath, String> {
    let paths = Paths::of(view)?;
    paths.repath(|path| {
        if !was_written_for_old(path.range) {
            let there = new.find(path.path).ok();
            let outcome = there.map_or(Outcome::Unknown, |node| paths.found(path, new, node, 1.0));
            return (None, outcome);
        }
        let Ok(node) = old.find(path.path) else {
            return (None, Outcome::Nowhere);
        };
        // A name that one node still has is right, however that node has changed.
        if path.path.positions().is_none()
            && let Ok(there) = new.find(path.path)
        {
            let outcome = paths.found(path, new, there, 1.0);
            return (Some(label(old, node)), outcome);
        }
        let outcome = match matching.fates.get(node.index()) {
            Some(Fate::Found(found)) => paths.found(path, new, found.node, found.confidence),
            Some(Fate::Unsure(candidates)) => {
                let targets = candidates.iter();
                let targets =
                    targets.filter_map(|one| paths.target(path, new, one.node, one.confidence));
                Outcome::Unsure(targets.collect())
            }
            Some(Fate::Gone) | None => Outcome::Gone,
        };
        (Some(label(old, node)), outcome)
    })
}
