//! Index paths that follow their nodes into a newly exported scene.

mod by_names;
mod by_scenes;
mod followed;
#[cfg(test)]
mod tests;

pub use by_names::by_names;
pub use by_scenes::by_scenes;
pub(crate) use by_scenes::follow;
pub(crate) use followed::{Astray, Followed};

use crate::node_paths::path_like;
use dialect::{Dialect, NodePath};
use machine::UseTarget;
use project::View;
use scene::{NodeIndex, Scene};
use syntax::{TextEdit, TextRange};

/// What becomes of all index paths of a definition.
#[derive(Debug, Clone, PartialEq)]
pub struct Repath {
    /// In the order of the document.
    pub paths: Vec<Repathed>,
    /// The edits that move what moves.
    pub edits: Vec<TextEdit>,
    /// The text with these edits.
    pub text: String,
}

/// What becomes of one index path.
#[derive(Debug, Clone, PartialEq)]
pub struct Repathed {
    pub range: TextRange,
    /// In the dialect's notation.
    pub path: String,
    /// The alias that it is the path of.
    pub alias: Option<String>,
    /// What it leads to in the old scene, if that is known.
    pub node: Option<String>,
    pub outcome: Outcome,
}

/// Where an index path should lead.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    Stays(Target),
    Moves(Target),
    /// It may be one of these; it is left alone.
    Unsure(Vec<Target>),
    /// It is at this place of the new scene, to which nothing leads that can be written here; it is left alone.
    OutOfReach(String),
    /// Nothing in the new scene is like the node; it is left alone.
    Gone,
    /// It leads nowhere in the old scene already.
    Nowhere,
    /// Nothing tells which node was meant.
    Unknown,
}

/// A node of the new scene.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// In the dialect's notation.
    pub path: String,
    /// Its name; without one, the names down to it.
    pub node: String,
    /// From 0 to 1; see [`scene::Candidate`].
    pub confidence: f64,
}

impl Repath {
    /// How many paths move.
    pub fn moved(&self) -> usize {
        self.edits.len()
    }

    /// The paths that are left to a person.
    pub fn left(&self) -> impl Iterator<Item = &Repathed> {
        self.paths
            .iter()
            .filter(|path| !matches!(path.outcome, Outcome::Stays(_) | Outcome::Moves(_)))
    }
}

/// An index path of the document.
struct Written<'v> {
    range: TextRange,
    path: &'v NodePath,
    alias: Option<&'v str>,
}

/// The definition with a dialect and all of its index paths.
struct Paths<'v> {
    view: &'v View,
    dialect: &'v Dialect,
    written: Vec<Written<'v>>,
}

impl<'v> Paths<'v> {
    fn of(view: &'v View) -> Result<Self, String> {
        let (Some(dialect), Some(machine)) = (view.dialect(), view.machine()) else {
            return Err("No dialect fits this document.".to_owned());
        };
        let mut aliases: Vec<(TextRange, &str)> = machine
            .aliases
            .iter()
            .filter_map(|alias| {
                let name = &*alias.name.as_ref()?.value;
                Some((alias.path.as_ref()?.range, name))
            })
            .collect();
        aliases.sort_by_key(|(range, _)| range.start());
        let names = machine.index();
        let mut written: Vec<Written<'v>> = machine
            .uses
            .iter()
            .filter_map(|used| {
                let path = match &used.target {
                    UseTarget::Name {
                        kinds,
                        name,
                        or_node: Some(path),
                        ..
                    } if names.definition(kinds, name).is_none() => path,
                    _ => used.path()?,
                };
                let start = used.range.start();
                let alias = aliases.binary_search_by_key(&start, |(range, _)| range.start());
                Some(Written {
                    range: used.range,
                    path,
                    alias: alias.ok().map(|at| aliases[at].1),
                })
            })
            .collect();
        written.sort_by_key(|path| path.range.start());
        written.dedup_by_key(|path| path.range);
        Ok(Self {
            view,
            dialect,
            written,
        })
    }

    fn notation(&self, path: &NodePath) -> String {
        self.dialect.notation.write_node_path(path)
    }

    /// None: the form of the path has no way to lead to the node, such as its name if others have the same.
    fn target(
        &self,
        path: &Written<'_>,
        new: &Scene,
        node: NodeIndex,
        confidence: f64,
    ) -> Option<Target> {
        let path = path_like(self.dialect, new, node, path.path)?;
        Some(Target {
            path: self.notation(&path),
            node: label(new, node),
            confidence,
        })
    }

    /// Stays or moves to a node that is known.
    fn found(&self, path: &Written<'_>, new: &Scene, node: NodeIndex, confidence: f64) -> Outcome {
        let Some(target) = self.target(path, new, node, confidence) else {
            let paths = &self.dialect.notation.index_path;
            return Outcome::OutOfReach(paths.label(&new.index_path(node)));
        };
        match new.find(path.path) {
            Ok(there) if there == node => Outcome::Stays(target),
            _ => Outcome::Moves(target),
        }
    }

    /// Makes the edits, and reads the result to see that every path says what it should.
    fn repath(
        &self,
        judge: impl Fn(&Written<'_>) -> (Option<String>, Outcome),
    ) -> Result<Repath, String> {
        let mut paths = Vec::with_capacity(self.written.len());
        let mut edits = Vec::new();
        let mut expected = Vec::with_capacity(self.written.len());
        for path in &self.written {
            let (node, outcome) = judge(path);
            let own = self.notation(path.path);
            if let Outcome::Moves(target) = &outcome {
                let written = crate::checks::escaped(&target.path);
                edits.push(TextEdit::replace(path.range, written));
                expected.push(target.path.clone());
            } else {
                expected.push(own.clone());
            }
            paths.push(Repathed {
                range: path.range,
                path: own,
                alias: path.alias.map(str::to_owned),
                node,
                outcome,
            });
        }
        let text = syntax::apply(self.view.text(), &edits).map_err(|error| error.to_string())?;
        let after = self.view.with_text(text.clone());
        let after = Paths::of(&after)?;
        let written = after.written.iter().map(|path| after.notation(path.path));
        if !written.eq(expected) {
            return Err(
                "The definition cannot be changed: its paths would not be read as they were written."
                    .to_owned(),
            );
        }
        Ok(Repath { paths, edits, text })
    }
}

/// A node's name; without one, the names down to it.
pub(crate) fn label(scene: &Scene, node: NodeIndex) -> String {
    match &*scene[node].name {
        "" => scene.tree_path(node),
        name => name.to_owned(),
    }
}
