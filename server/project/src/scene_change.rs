//! A scene that was exported anew while its definitions were open.

use std::sync::{Arc, OnceLock, Weak};

use dashmap::DashMap;
use machine::Outline;
use scene::Matching;

use crate::scene_file::SceneFile;
use crate::view::SceneState;

/// Two states of a scene, compared when that is first asked for.
#[derive(Debug)]
pub struct SceneChange {
    pub before: Arc<SceneFile>,
    pub now: Arc<SceneFile>,
    matching: OnceLock<Matching>,
}

impl SceneChange {
    /// What became of the nodes. Takes time in proportion to the scenes, once.
    pub fn matching(&self) -> &Matching {
        self.matching
            .get_or_init(|| Matching::of(&self.before.scene, &self.now.scene))
    }
}

/// What a definition was before its scene changed.
#[derive(Debug, Clone)]
pub struct Earlier {
    pub scenes: Arc<SceneChange>,
    /// What the definition said then: index paths that it still has were written for the scene as it was.
    pub outline: Arc<Outline>,
}

/// The comparisons that somebody looks at, so that all definitions of a scene share one.
#[derive(Debug, Default)]
pub(crate) struct SceneChanges(DashMap<(usize, usize), Weak<SceneChange>>);

impl SceneChanges {
    pub(crate) fn between(
        &self,
        before: &Arc<SceneFile>,
        now: &Arc<SceneFile>,
    ) -> Arc<SceneChange> {
        self.0.retain(|_, known| known.strong_count() > 0);
        let key = (Arc::as_ptr(before).addr(), Arc::as_ptr(now).addr());
        let mut known = self.0.entry(key).or_default();
        known.upgrade().unwrap_or_else(|| {
            let change = Arc::new(SceneChange {
                before: before.clone(),
                now: now.clone(),
                matching: OnceLock::new(),
            });
            *known = Arc::downgrade(&change);
            change
        })
    }
}

/// What a version of a definition knows of its scene, for the next one.
#[derive(Debug, Clone, Default)]
pub(crate) struct SceneHistory {
    /// The last one that could be read.
    scene: Option<Arc<SceneFile>>,
    earlier: Option<Arc<Earlier>>,
    /// What the definition said.
    outline: Arc<Outline>,
}

impl SceneHistory {
    /// Of a definition that was written for another state of its scene.
    pub(crate) fn of(
        before: &Arc<SceneFile>,
        now: &Arc<SceneFile>,
        outline: &Arc<Outline>,
        changes: &SceneChanges,
    ) -> Self {
        Self {
            scene: Some(now.clone()),
            earlier: Some(Arc::new(Earlier {
                scenes: changes.between(before, now),
                outline: outline.clone(),
            })),
            outline: outline.clone(),
        }
    }

    pub(crate) fn earlier(&self) -> Option<&Arc<Earlier>> {
        self.earlier.as_ref()
    }

    /// The history of the next version. A scene that cannot be read, as while it is written, changes nothing; one in
    /// another file begins a new history. If scenes change one after the other, nodes are followed from the first one
    /// as long as the definition has the same index paths as then.
    pub(crate) fn next(
        self,
        scene: &SceneState,
        outline: &Arc<Outline>,
        changes: &SceneChanges,
    ) -> Self {
        let SceneState::Loaded(now) = scene else {
            return Self {
                outline: outline.clone(),
                ..self
            };
        };
        let earlier = match self.scene {
            Some(last) if Arc::ptr_eq(&last, now) => self.earlier,
            Some(last) if last.path == now.path => {
                let unmoved = self
                    .earlier
                    .filter(|earlier| earlier.outline.node_paths().eq(self.outline.node_paths()));
                let (before, outline) = match &unmoved {
                    Some(earlier) => (&earlier.scenes.before, &earlier.outline),
                    None => (&last, &self.outline),
                };
                Some(Arc::new(Earlier {
                    scenes: changes.between(before, now),
                    outline: outline.clone(),
                }))
            }
            _ => None,
        };
        Self {
            scene: Some(now.clone()),
            earlier,
            outline: outline.clone(),
        }
    }
}
