//! Do the paths lead to the right nodes of the scene?

use std::collections::HashMap;

use machine::{Alias, NodeRef, NodeTarget, Spanned, UseTarget};
use project::SceneState;
use scene::{NodeIndex, Scene};
use syntax::{TextEdit, TextRange};

use super::facts::Facts;
use crate::{Finding, Fix, Trust, codes};

pub(super) fn check(facts: &Facts<'_>) -> Vec<Finding> {
    match (&facts.meaning.scene, facts.scene) {
        (SceneState::Unreadable { path, message }, _) => {
            let place = facts
                .machine
                .scene
                .as_ref()
                .map_or_else(|| facts.root_name(), |scene| scene.range);
            if facts.faulty.contains(&place) {
                return Vec::new();
            }
            let name = path
                .file_name()
                .unwrap_or(path.as_os_str())
                .to_string_lossy();
            let message = format!(
                "The scene `{name}` cannot be read. {message} Nothing can be checked against it."
            );
            vec![codes::SCENE_UNREADABLE.at(place, message)]
        }
        (_, Some(scene)) => {
            let mut findings = paths(facts, scene);
            findings.extend(stale(facts, scene));
            findings
        }
        _ => Vec::new(),
    }
}

fn paths(facts: &Facts<'_>, scene: &Scene) -> Vec<Finding> {
    let broken = facts
        .machine
        .uses
        .iter()
        .filter_map(|used| match &used.target {
            UseTarget::Path(path) => Some((used.range, path, scene.walk(path).err()?)),
            _ => None,
        });
    let broken: Vec<_> = broken.collect();
    if broken.is_empty() {
        return Vec::new();
    }
    let nodes = nodes_by_name(scene);
    let named = facts
        .machine
        .aliases
        .iter()
        .filter_map(|alias| Some((alias.path.as_ref()?.range, alias.name.as_ref()?)));
    let names: HashMap<TextRange, &Spanned<String>> = named.collect();
    let judged = broken.into_iter().map(|(range, path, error)| {
        let mut message = leads_nowhere(facts, scene, path, error);
        let own = names
            .get(&range)
            .and_then(|name| nodes.get(&plain(&name.value)).copied().flatten());
        let Some(own) = own else {
            return codes::PATH_NOT_IN_SCENE.at(range, message);
        };
        message.push_str(&is_at(facts, scene, own));
        codes::PATH_NOT_IN_SCENE
            .at(range, message)
            .fix(follow(facts, scene, range, own))
    });
    judged.collect()
}

/// By plain name: the node of that name. None: there are several.
fn nodes_by_name(scene: &Scene) -> HashMap<String, Option<NodeIndex>> {
    let mut nodes: HashMap<String, Option<NodeIndex>> = HashMap::new();
    for id in scene.ids() {
        let name = plain(&scene[id].name);
        nodes
            .entry(name)
            .and_modify(|known| *known = None)
            .or_insert(Some(id));
    }
    nodes
}

/// For the end of a message, with a blank before it.
fn is_at(facts: &Facts<'_>, scene: &Scene, node: NodeIndex) -> String {
    let path = facts.written_path(&scene.index_path(node));
    format!(" The node `{}` is at `{path}`.", scene[node].name)
}

fn follow(facts: &Facts<'_>, scene: &Scene, range: TextRange, node: NodeIndex) -> Fix {
    let path = facts.written_path(&scene.index_path(node));
    Fix {
        title: format!("Follow the node: write `{path}`"),
        trust: Trust::Review,
        edits: vec![TextEdit::replace(range, super::escaped(&path))],
    }
}

fn leads_nowhere(
    facts: &Facts<'_>,
    scene: &Scene,
    path: &[u32],
    error: scene::WalkError,
) -> String {
    let written = facts.written_path(path);
    let before = path.get(..error.depth).unwrap_or_default();
    let (holder, children) = match scene.walk(before) {
        Ok(node) => (
            format!(
                "{} (`{}`)",
                node_name(scene, node),
                facts.written_path(before)
            ),
            ["child", "children"],
        ),
        Err(_) => ("the scene".to_owned(), ["root", "roots"]),
    };
    let last = |available: usize| {
        let mut last = before.to_vec();
        last.push(u32::try_from(available - 1).unwrap_or(u32::MAX));
        facts.written_path(&last)
    };
    match error.available {
        0 => format!(
            "`{written}` leads to no node: {holder} has no {}.",
            children[1]
        ),
        1 => format!(
            "`{written}` leads to no node: {holder} has only one {}, `{}`.",
            children[0],
            last(1)
        ),
        many => format!(
            "`{written}` leads to no node: {holder} has {many} {}, the last one is `{}`.",
            children[1],
            last(many)
        ),
    }
}

fn node_name(scene: &Scene, node: NodeIndex) -> String {
    match scene[node].name.as_str() {
        "" => "the nameless node".to_owned(),
        name => format!("`{name}`"),
    }
}

/// An alias, and the node that its path leads to.
struct Bound<'v> {
    name: &'v Spanned<String>,
    path: &'v NodeRef,
    node: NodeIndex,
}

/// Aliases whose path leads to a node that goes by another alias's name, or away from the only node of their own.
fn stale(facts: &Facts<'_>, scene: &Scene) -> Vec<Finding> {
    let aliases: Vec<Bound<'_>> = facts
        .machine
        .aliases
        .iter()
        .filter_map(|alias| bound(facts, scene, alias))
        .collect();
    let is_elsewhere = |alias: &&Bound<'_>| {
        let there = plain(&scene[alias.node].name);
        !there.is_empty() && there != plain(&alias.name.value)
    };
    let suspects: Vec<&Bound<'_>> = aliases.iter().filter(is_elsewhere).collect();
    if suspects.is_empty() {
        return Vec::new();
    }
    let by_name: HashMap<String, &Bound<'_>> = aliases
        .iter()
        .rev()
        .map(|alias| (plain(&alias.name.value), alias))
        .collect();
    let nodes = nodes_by_name(scene);
    let judged = suspects.into_iter().filter_map(|alias| {
        // A node and what hangs on it are often called alike, and either may be meant.
        let is_near =
            |own: &NodeIndex| scene.is_below(*own, alias.node) || scene.is_below(alias.node, *own);
        let own = nodes.get(&plain(&alias.name.value)).copied().flatten();
        let own = own.filter(|own| !is_near(own));
        let other = by_name
            .get(&plain(&scene[alias.node].name))
            .filter(|other| other.node != alias.node);
        (own.is_some() || other.is_some())
            .then(|| stale_path(facts, scene, alias, own, other.copied()))
    });
    judged.collect()
}

fn bound<'v>(facts: &Facts<'v>, scene: &Scene, alias: &'v Alias) -> Option<Bound<'v>> {
    // Of two aliases of one name one is wrong anyway, and that is reported.
    let name = alias.name.as_ref().filter(|name| facts.is_first(name))?;
    let path = alias.path.as_ref()?;
    let NodeTarget::Path(positions) = &path.target else {
        return None;
    };
    let node = scene.walk(positions).ok()?;
    Some(Bound { name, path, node })
}

/// `own`: the only node of the alias's name; `other`: the alias that has the name of the node.
fn stale_path(
    facts: &Facts<'_>,
    scene: &Scene,
    alias: &Bound<'_>,
    own: Option<NodeIndex>,
    other: Option<&Bound<'_>>,
) -> Finding {
    let Bound { name, path, node } = alias;
    let mut message = format!(
        "`{}` leads to the node `{}`, not to `{}`.",
        path.text, scene[*node].name, name.value
    );
    if let Some(own) = own {
        message.push_str(&is_at(facts, scene, own));
    }
    let mut finding = codes::STALE_PATH.at(path.range, message);
    if let Some(other) = other {
        finding = finding.see(other.name.range, "this is the name of that node");
    }
    match own {
        Some(own) => finding.fix(follow(facts, scene, path.range, own)),
        None => finding,
    }
}

/// A name without case and punctuation: `Leg_Left` and `leg.left` are meant to be the same.
fn plain(name: &str) -> String {
    name.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}
