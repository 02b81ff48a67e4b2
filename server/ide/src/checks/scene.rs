//! Do the paths lead to the right nodes of the scene?

use foldhash::HashMap;
use std::borrow::Cow;
use std::path::Path;
use std::sync::OnceLock;

use dialect::{Kind, NodeNames, NodePath};
use machine::{Alias, Entry, NodeTarget, Sort, UseTarget};
use project::SceneState;
use scene::{NoNode, NodeIndex, Scene};
use syntax::{TextEdit, TextRange};

use super::index::{Index, Place};
use super::local::Local;
use super::names;
use super::site::Site;
use super::strays::Strays;
use super::suggest::{FEW, Suggestion, of_few};
use super::unread::Unread;
use crate::node_names::{self, are_alike, letters, plain};
use crate::node_paths::{names_to, path_like};
use crate::{Finding, Fix, Trust, codes};

/// What is looked up in a scene once and for all.
#[derive(Debug, Default)]
pub(super) struct Nodes {
    names: OnceLock<node_names::NodeNames>,
}

/// Of many nodes with one name, not all are told.
const MOST_TOLD: usize = 4;

impl Nodes {
    fn only(&self, scene: &Scene, name: &str) -> Option<NodeIndex> {
        self.names
            .get_or_init(|| node_names::NodeNames::of(scene))
            .only(name)
    }
}

/// Adds the name that was probably meant.
fn nearest(site: &Site<'_>, scene: &Scene, names: &NodeNames, mut finding: Finding) -> Finding {
    let Some(last) = names.names.last() else {
        return finding;
    };
    let others = scene.nodes.iter().map(|node| &*node.name);
    let Some(meant) = of_few(last, scene.nodes.len(), others) else {
        return finding;
    };
    let [only] = scene.by_name(meant.word)[..] else {
        let alike = NodeNames {
            names: [meant.word.to_owned()].into(),
            from_root: false,
        };
        let told = several(site, scene, &alike);
        finding.message.push_str(&format!(" {told}"));
        return finding;
    };
    let Some(path) = names_to(site.dialect, scene, only) else {
        finding.message.push_str(&meant.question());
        return finding;
    };
    let written = site.written_path(&path);
    let question = format!(" Did you mean `{written}`?");
    finding.message.push_str(&question);
    let edit = TextEdit::replace(finding.range, super::escaped(&written));
    finding.fix(Fix {
        title: format!("Write `{written}`"),
        trust: meant.trust,
        edits: vec![edit],
    })
}

/// The name of the document that was probably meant where a node may be asked for by one, or by its own; none if that of
/// a node is as close.
fn meant_name<'v>(
    site: &Site<'v>,
    index: &Index,
    scene: &Scene,
    (kinds, name): (&[Kind], &str),
) -> Option<Suggestion<'v>> {
    let given: usize = kinds.iter().map(|kind| index.count(kind)).sum();
    if given == 0 || given + scene.nodes.len() > FEW {
        return None;
    }
    let names = names::candidates_of(site, kinds);
    let nodes = scene.nodes.iter().map(|node| &*node.name);
    let all = names.iter().copied().chain(nodes);
    let meant = super::suggest::nearest(name, all)?;
    let word = names.into_iter().find(|given| *given == meant.word)?;
    Some(Suggestion {
        word,
        trust: meant.trust,
    })
}

fn with_name(mut finding: Finding, meant: Suggestion<'_>) -> Finding {
    finding.message.push_str(&meant.question());
    let edit = TextEdit::replace(finding.range, super::escaped(meant.word));
    finding.fix(Fix {
        title: format!("Write `{}`", meant.word),
        trust: meant.trust,
        edits: vec![edit],
    })
}

/// A scene that cannot be read.
pub(super) fn unreadable(site: &Site<'_>) -> Option<Finding> {
    let SceneState::Unreadable { path, message } = &site.meaning.scene else {
        return None;
    };
    let scene = site.outline.scene();
    let place = scene.map_or_else(|| site.root_name(), |scene| scene.range);
    let name = shown(path);
    let message =
        format!("The scene `{name}` cannot be read. {message} Nothing can be checked against it.");
    Some(codes::SCENE_UNREADABLE.at(place, message))
}

/// What could not be read of a scene that could.
pub(super) fn incomplete(site: &Site<'_>) -> Option<Finding> {
    let SceneState::Loaded(file) = &site.meaning.scene else {
        return None;
    };
    let first = file.notes.first()?;
    let scene = site.outline.scene()?;
    let name = shown(&file.path);
    let more = match file.notes.len() {
        1 => "",
        _ => " There is more of the kind.",
    };
    let message = format!("Not all of the scene `{name}` can be read as it is. {first}{more}");
    Some(codes::SCENE_INCOMPLETE.at(scene.range, message))
}

/// The name of a file.
fn shown(path: &Path) -> Cow<'_, str> {
    let name = path.file_name().unwrap_or(path.as_os_str());
    name.to_string_lossy()
}

/// The paths of an entry that lead nowhere.
pub(super) fn nowhere<'a>(
    site: &'a Site<'_>,
    index: &'a Index,
    nodes: &'a Nodes,
    entry: &'a Entry,
    local: &'a Local,
    strays: &'a Strays<'_>,
    unread: &'a Unread,
) -> impl Iterator<Item = Finding> + 'a {
    let uses = local
        .nowhere
        .iter()
        .filter_map(|at| entry.facts.uses.get(*at));
    uses.filter_map(move |used| {
        let scene = site.scene?;
        let path = match &used.target {
            UseTarget::Path(path) => path,
            UseTarget::Name {
                kinds,
                name,
                or_node: Some(path),
                ..
            } if index.definition(kinds, name).is_none() && !unread.may_hold(name) => path,
            _ => return None,
        };
        let error = scene.find(path).err()?;
        let range = used.range + entry.start();
        let mut message = match (path, error) {
            (NodePath::Positions(positions), NoNode::NoPosition(error)) => {
                leads_nowhere(site, scene, positions, error)
            }
            (NodePath::Names(names), NoNode::Several(_)) => several(site, scene, names),
            _ => {
                let given = match &used.target {
                    UseTarget::Name { kinds, .. } if !kinds.is_empty() => {
                        format!("{} and no ", names::kinds_or(kinds))
                    }
                    _ => String::new(),
                };
                let written = site.written_path(path);
                format!("No {given}node of the scene is called `{written}`.")
            }
        };
        let is_its = |alias: &&Alias| {
            alias
                .path
                .as_ref()
                .is_some_and(|path| path.range == used.range)
        };
        let alias = entry.facts.aliases.iter().find(is_its);
        let name = alias.and_then(|alias| alias.name.as_ref());
        let Some(own) = name.and_then(|name| nodes.only(scene, &name.value)) else {
            let finding = codes::PATH_NOT_IN_SCENE.at(range, message);
            return Some(match (strays.get(&range), path) {
                (Some(stray), _) => stray.add_to(site, finding),
                (None, NodePath::Names(names)) if error == NoNode::NoName => {
                    let finding = match &used.target {
                        UseTarget::Name { kinds, name, .. } => {
                            match meant_name(site, index, scene, (kinds, name)) {
                                Some(meant) => return Some(with_name(finding, meant)),
                                None => finding,
                            }
                        }
                        _ => finding,
                    };
                    nearest(site, scene, names, finding)
                }
                _ => finding,
            });
        };
        message.push_str(&is_at(site, scene, own));
        let finding = codes::PATH_NOT_IN_SCENE.at(range, message);
        Some(with_fix(finding, follow(site, scene, range, own, path)))
    })
}

/// Says that several nodes have the names of a path, and where they are.
fn several(site: &Site<'_>, scene: &Scene, names: &NodeNames) -> String {
    let all: Vec<NodeIndex> = scene.named(names).collect();
    let first = all.iter().take(MOST_TOLD);
    let mut told: Vec<String> = first
        .map(|id| format!("`{}`", scene.tree_path(*id)))
        .collect();
    // Nodes with one name below nodes with one name.
    let are_alike = told.windows(2).any(|pair| pair[0] == pair[1]);
    if are_alike {
        let places = all.iter().map(|id| stands_at(site, scene, *id));
        told.iter_mut().zip(places).for_each(|(told, place)| {
            told.push_str(" at ");
            told.push_str(&place);
        });
    }
    if all.len() > told.len() {
        told.push(format!("{} more", all.len() - told.len()));
    }
    let last = told.pop().unwrap_or_default();
    format!(
        "`{}` is the name of {} nodes, {} and {last}, and nothing says which is meant.",
        site.dialect.notation.node_names.write(&names.names),
        all.len(),
        told.join(", ")
    )
}

fn with_fix(finding: Finding, fix: Option<Fix>) -> Finding {
    match fix {
        Some(fix) => finding.fix(fix),
        None => finding,
    }
}

/// For the end of a message, with a blank before it.
fn is_at(site: &Site<'_>, scene: &Scene, node: NodeIndex) -> String {
    let place = stands_at(site, scene, node);
    format!(" The node `{}` is at {place}.", scene[node].name)
}

/// The path of a node, for a message.
pub(super) fn stands_at(site: &Site<'_>, scene: &Scene, node: NodeIndex) -> String {
    format!("`{}`", site.written_positions(&scene.index_path(node)))
}

/// Writes the path to a node in place of another one, in the form of that. None: that form has no way to lead there.
pub(super) fn follow(
    site: &Site<'_>,
    scene: &Scene,
    range: TextRange,
    node: NodeIndex,
    like: &NodePath,
) -> Option<Fix> {
    let path = site.written_path(&path_like(site.dialect, scene, node, like)?);
    Some(Fix {
        title: format!("Follow the node: write `{path}`"),
        trust: Trust::Review,
        edits: vec![TextEdit::replace(range, super::escaped(&path))],
    })
}

fn leads_nowhere(site: &Site<'_>, scene: &Scene, path: &[u32], error: scene::WalkError) -> String {
    let written = site.written_positions(path);
    let before = path.get(..error.depth).unwrap_or_default();
    let (holder, children) = match scene.walk(before) {
        Ok(node) => (
            format!(
                "{} (`{}`)",
                node_name(scene, node),
                site.written_positions(before)
            ),
            ["child", "children"],
        ),
        Err(_) => ("the scene".to_owned(), ["root", "roots"]),
    };
    let last = |available: usize| {
        let mut last = before.to_vec();
        last.push(u32::try_from(available - 1).unwrap_or(u32::MAX));
        site.written_positions(&last)
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

pub(super) fn node_name(scene: &Scene, node: NodeIndex) -> String {
    match &*scene[node].name {
        "" => "the nameless node".to_owned(),
        name => format!("`{name}`"),
    }
}

/// An alias that leads to a node of another name.
#[derive(Debug, Clone)]
pub(super) struct Stale {
    /// Among the aliases of its entry.
    place: Place,
    node: NodeIndex,
    /// The only node of the alias's name.
    own: Option<NodeIndex>,
    /// The alias that has the name of the node.
    other: Option<Place>,
}

/// Aliases whose path leads to a node that goes by another alias's name, or away from the only node of their own.
/// `suspects`: the aliases that lead to a node of another name.
pub(super) fn stale(
    site: &Site<'_>,
    index: &Index,
    nodes: &Nodes,
    suspects: &[Place],
) -> Vec<Stale> {
    let (Some(scene), false) = (site.scene, suspects.is_empty()) else {
        return Vec::new();
    };
    let suspects = suspects.iter().filter_map(|place| {
        let (entry, alias) = alias_at(site, *place)?;
        let (name, node) = bound(index, scene, entry, alias)?;
        Some((place, name, node))
    });
    let suspects: Vec<(&Place, &str, NodeIndex)> = suspects.collect();
    let wanted = suspects.iter().map(|(.., node)| plain(&scene[*node].name));
    let by_name = first_called(site, index, scene, wanted);
    let judge = |(place, name, node): (&Place, &str, NodeIndex)| {
        // A node and what hangs on it are often called alike, and either may be meant.
        let is_near = |own: &NodeIndex| scene.is_below(*own, node) || scene.is_below(node, *own);
        let own = nodes.only(scene, name).filter(|own| !is_near(own));
        let other = by_name.get(&plain(&scene[node].name)).copied().flatten();
        let other = other.filter(|(_, other)| *other != node);
        (own.is_some() || other.is_some()).then(|| Stale {
            place: *place,
            node,
            own,
            other: other.map(|(place, _)| place),
        })
    };
    suspects.into_iter().filter_map(judge).collect()
}

/// The first alias of each of some names, which are plain, with the node that it leads to.
fn first_called(
    site: &Site<'_>,
    index: &Index,
    scene: &Scene,
    names: impl Iterator<Item = String>,
) -> HashMap<String, Option<(Place, NodeIndex)>> {
    let mut first: HashMap<String, Option<(Place, NodeIndex)>> =
        names.map(|name| (name, None)).collect();
    // Few names are asked for, and there may be thousands of aliases.
    let mut name = String::new();
    for (_, entry) in site.outline.saying(Sort::Aliases) {
        for (at, alias) in entry.facts.aliases.iter().enumerate() {
            let Some(written) = &alias.name else { continue };
            name.clear();
            match written.value.is_ascii() {
                true => {
                    let bytes = written.value.bytes().filter(u8::is_ascii_alphanumeric);
                    name.extend(bytes.map(|byte| char::from(byte.to_ascii_lowercase())));
                }
                false => name.extend(letters(&written.value)),
            }
            if let Some(first) = first.get_mut(&name)
                && first.is_none()
            {
                let label = entry.label;
                let bound = bound(index, scene, entry, alias);
                *first = bound.map(|(_, node)| (Place { label, at }, node));
            }
        }
    }
    first
}

/// Whether an alias leads to a node that is not called like it.
pub(super) fn is_elsewhere(alias: &str, node: &str) -> bool {
    letters(node).next().is_some() && !are_alike(node, alias)
}

fn alias_at<'v>(site: &Site<'v>, place: Place) -> Option<(&'v Entry, &'v Alias)> {
    let entry = site.outline.labelled(place.label)?;
    Some((entry, entry.facts.aliases.get(place.at)?))
}

/// The name of an alias and the node it leads to.
fn bound<'e>(
    index: &Index,
    scene: &Scene,
    entry: &Entry,
    alias: &'e Alias,
) -> Option<(&'e str, NodeIndex)> {
    let name = alias.name.as_ref()?;
    let NodeTarget::Path(path) = &alias.path.as_ref()?.target else {
        return None;
    };
    let node = scene.find(path).ok()?;
    // Of two aliases of one name one is wrong anyway, and that is reported.
    let group = index.group(&name.value)?;
    let is_this = |place: Place| {
        let given = entry.facts.definitions.get(place.at);
        place.label == entry.label && given.is_some_and(|given| given.name.range == name.range)
    };
    let given = group.given.iter().find(|given| is_this(given.place))?;
    group.is_first(given).then_some((&*name.value, node))
}

impl Stale {
    /// The node that it leads to.
    pub(super) fn node(&self) -> NodeIndex {
        self.node
    }

    /// Whether only one node has its name.
    pub(super) fn knows_its_node(&self) -> bool {
        self.own.is_some()
    }

    pub(super) fn finding(&self, site: &Site<'_>) -> Option<Finding> {
        let scene = site.scene?;
        let (entry, alias) = alias_at(site, self.place)?;
        let (name, path) = (alias.name.as_ref()?, alias.path.as_ref()?);
        let range = path.range + entry.start();
        let mut message = format!(
            "`{}` leads to the node `{}`, not to `{}`.",
            path.text, scene[self.node].name, name.value
        );
        if let Some(own) = self.own {
            message.push_str(&is_at(site, scene, own));
        }
        let mut finding = codes::STALE_PATH.at(range, message);
        let other = self.other.and_then(|other| alias_at(site, other));
        if let Some((name, entry)) =
            other.and_then(|(entry, other)| Some((other.name.as_ref()?, entry)))
        {
            let range = name.range + entry.start();
            finding = finding.see(range, "this is the name of that node");
        }
        let NodeTarget::Path(like) = &path.target else {
            return Some(finding);
        };
        let fix = self
            .own
            .and_then(|own| follow(site, scene, range, own, like));
        Some(with_fix(finding, fix))
    }
}
