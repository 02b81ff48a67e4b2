//! Do the paths lead to the right nodes of the scene?

use std::collections::HashMap;

use machine::{NodeTarget, UseTarget};
use project::SceneState;
use scene::{NodeId, Scene};
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
    let uses = facts.machine.uses.iter();
    uses.filter_map(|used| match &used.target {
        UseTarget::Path(path) => Some((used, path)),
        _ => None,
    })
    .filter_map(|(used, path)| {
        let error = scene.walk(path).err()?;
        Some(codes::PATH_NOT_IN_SCENE.at(used.range, leads_nowhere(facts, scene, path, error)))
    })
    .collect()
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

fn node_name(scene: &Scene, node: NodeId) -> String {
    match scene[node].name.as_str() {
        "" => "the nameless node".to_owned(),
        name => format!("`{name}`"),
    }
}

/// Aliases whose path leads to a node that goes by another alias's name, or away from the only node of their own.
fn stale(facts: &Facts<'_>, scene: &Scene) -> Vec<Finding> {
    let aliases: Vec<(&str, &[u32], TextRange, TextRange, NodeId)> = facts
        .machine
        .aliases
        .iter()
        .filter_map(|alias| {
            // Of two aliases of one name one is wrong anyway, and that is reported.
            let name = alias.name.as_ref().filter(|name| facts.is_first(name))?;
            let node = alias.path.as_ref()?;
            let NodeTarget::Path(path) = &node.target else {
                return None;
            };
            Some((
                name.value.as_str(),
                path.as_slice(),
                node.range,
                name.range,
                scene.walk(path).ok()?,
            ))
        })
        .collect();
    let by_name: HashMap<String, (TextRange, NodeId)> = aliases
        .iter()
        .rev()
        .map(|(name, _, _, range, node)| (plain(name), (*range, *node)))
        .collect();
    let mut nodes: HashMap<String, Option<NodeId>> = HashMap::new();
    for id in scene.ids() {
        let name = plain(&scene[id].name);
        nodes
            .entry(name)
            .and_modify(|known| *known = None)
            .or_insert(Some(id));
    }
    let mut findings = Vec::new();
    for (name, path, range, _, node) in aliases {
        let found = plain(&scene[node].name);
        if found == plain(name) || found.is_empty() {
            continue;
        }
        let own = nodes.get(&plain(name)).copied().flatten();
        let other = by_name
            .get(&found)
            .filter(|(_, elsewhere)| *elsewhere != node);
        if own.is_none() && other.is_none() {
            continue;
        }
        let hint = match own {
            Some(own) => format!(
                " The node `{}` is at `{}` now.",
                scene[own].name,
                facts.written_path(&scene.index_path(own))
            ),
            None => String::new(),
        };
        let message = format!(
            "`{}` leads to the node `{}`, not to `{name}`.{hint}",
            facts.written_path(path),
            scene[node].name
        );
        let mut finding = codes::STALE_PATH.at(range, message);
        if let Some((other, _)) = other {
            finding = finding.see(*other, "this is the name of that node");
        }
        if let Some(own) = own {
            let written = facts.written_path(&scene.index_path(own));
            finding = finding.fix(Fix {
                title: format!("Follow the node: write `{written}`"),
                trust: Trust::Review,
                edits: vec![TextEdit::replace(
                    range,
                    syntax::escape::attribute(&written, '"'),
                )],
            });
        }
        findings.push(finding);
    }
    findings
}

/// A name without case and punctuation: `Leg_Left` and `leg.left` are meant to be the same.
fn plain(name: &str) -> String {
    name.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}
