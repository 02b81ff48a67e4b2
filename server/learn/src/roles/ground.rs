//! What roles are told by, besides values: names, and nodes of scenes.

use super::records::{Field, Record, Records};
use crate::contexts::ContextId;
use crate::files::Files;
use crate::names::{Affix, Member, Names, Reference, SlotRef};
use crate::node_paths::NodePaths;
use crate::scenes::ByDocument;
use crate::survey::Survey;
use crate::symbols::Symbol;
use dialect::{IndexPathNotation, ItemType, Kind, NodePath, Notation, ValueType};
use foldhash::{HashMap, HashMapExt as _};
use scene::{Node, NodeIndex, Scene};

/// What is known before roles are looked for.
pub(crate) struct Ground<'a> {
    pub(crate) survey: &'a Survey<'a>,
    pub(crate) names: &'a Names,
    pub(crate) files: &'a Files,
    pub(crate) paths: &'a NodePaths,
    pub(crate) notation: &'a Notation,
    /// Whether the file at a path is a scene.
    pub(crate) is_scene: &'a dyn Fn(&str) -> bool,
    /// By document of the corpus.
    scenes: &'a ByDocument<'a>,
    given: HashMap<SlotRef, String>,
    asked: HashMap<SlotRef, &'a Reference>,
}

impl<'a> Ground<'a> {
    pub(crate) fn of(
        survey: &'a Survey<'a>,
        names: &'a Names,
        scenes: &'a ByDocument<'a>,
        is_scene: &'a dyn Fn(&str) -> bool,
        files: &'a Files,
        paths: &'a NodePaths,
        notation: &'a Notation,
    ) -> Self {
        let mut given: HashMap<SlotRef, String> = HashMap::new();
        for kind in &names.kinds {
            given.extend(
                kind.defined_by
                    .iter()
                    .map(|slot| (*slot, kind.kind.clone())),
            );
        }
        for (slot, told) in &paths.types {
            match &told.item {
                ItemType::NameOf(kind) => given.insert(*slot, kind.as_str().to_owned()),
                _ => given.remove(slot),
            };
        }
        // What is a node's name in the scene refers to nothing else.
        let references = names
            .references
            .iter()
            .filter(|one| !paths.types.get(&one.slot).is_some_and(is_node_name));
        Self {
            survey,
            names,
            is_scene,
            files,
            paths,
            notation,
            scenes,
            given,
            asked: references.map(|one| (one.slot, one)).collect(),
        }
    }

    pub(super) fn text(&self, symbol: Symbol) -> &'a str {
        self.survey.corpus.text(symbol)
    }

    /// The kind of the names that a slot gives.
    pub(super) fn gives(&self, slot: SlotRef) -> Option<&str> {
        self.given.get(&slot).map(String::as_str)
    }

    /// How a slot refers to things of a kind, if it does so plainly.
    pub(super) fn asks(&self, slot: SlotRef, kind: &str) -> Option<&'a Reference> {
        let reference = *self.asked.get(&slot)?;
        let plain = match &reference.form.member {
            Member::Name { before, after } => *before == Affix::Nothing && *after == Affix::Nothing,
            Member::Position { .. } => true,
        };
        let fits = reference
            .to
            .iter()
            .any(|to| self.names.kinds[*to].kind == kind);
        (plain && fits).then_some(reference)
    }

    /// Whether documents of a group have index paths.
    pub(super) fn has_paths(&self, group: usize) -> bool {
        self.paths.types.keys().any(|slot| slot.group == group)
    }

    /// Whether anything refers to names of a kind.
    pub(super) fn is_asked_for(&self, kind: &str) -> bool {
        let mut references = self.names.references.iter();
        references.any(|one| one.to.iter().any(|to| self.names.kinds[*to].kind == kind))
    }

    /// A reference to whatever.
    pub(super) fn reference(&self, slot: SlotRef) -> Option<&'a Reference> {
        self.asked.get(&slot).copied()
    }

    /// The position of things without names in a context, as a slot asks for it.
    pub(super) fn counts(&self, slot: SlotRef, things: ContextId) -> Option<&'a Reference> {
        let reference = *self.asked.get(&slot)?;
        let counted = reference
            .to
            .iter()
            .any(|to| self.names.kinds[*to].things.contains(&(slot.group, things)));
        let position = matches!(reference.form.member, Member::Position { .. });
        (counted && position).then_some(reference)
    }

    pub(super) fn path_item(&self, slot: SlotRef) -> Option<&'a ItemType> {
        self.paths.types.get(&slot).map(|told| &told.item)
    }

    pub(super) fn is_index_path(&self, slot: SlotRef) -> bool {
        matches!(self.path_item(slot), Some(ItemType::IndexPath))
    }

    pub(super) fn is_file(&self, slot: SlotRef) -> bool {
        self.files.types.contains_key(&slot) && self.path_item(slot).is_none()
    }

    /// Whether a slot says nodes by their names in the scene and in no other way.
    pub(super) fn is_node_name(&self, slot: SlotRef) -> bool {
        self.paths.types.get(&slot).is_some_and(is_node_name)
    }

    fn index_paths(&self) -> Option<&IndexPathNotation> {
        self.paths.notation.as_ref()
    }

    /// The scenes of a document of the corpus.
    pub(super) fn scenes(&self, document: u32) -> &[&'a Scene] {
        self.scenes.get(&document).map_or(&[], Vec::as_slice)
    }

    /// The node that an index path, or a name in the scene, leads to.
    fn walk(&self, document: u32, text: &str) -> Option<(&'a Scene, NodeIndex)> {
        let path = self.index_paths().and_then(|paths| paths.parse(text).ok());
        let by_path = path.and_then(|path| {
            let mut scenes = self.scenes(document).iter();
            scenes.find_map(|scene| Some((*scene, scene.walk(&path).ok()?)))
        });
        by_path.or_else(|| {
            let names = self.paths.names.as_ref()?.read(text)?;
            let path = NodePath::Names(names);
            let mut scenes = self.scenes(document).iter();
            scenes.find_map(|scene| Some((*scene, scene.find(&path).ok()?)))
        })
    }
}

fn is_node_name(told: &ValueType) -> bool {
    matches!(
        &told.item,
        ItemType::Node {
            index_path: false,
            node_name: true,
            ..
        }
    )
}

/// Which values are nodes, and which nodes.
#[derive(Debug, Default)]
pub(super) struct Nodes {
    /// The kinds of names that stand for nodes.
    pub(super) aliases: Vec<String>,
    /// Document of the corpus and name to index path.
    paths: HashMap<(u32, Symbol), Symbol>,
}

/// A place where a node is asked for.
pub(super) fn node_item(nodes: &Nodes, ground: &Ground<'_>, slot: SlotRef) -> Option<ItemType> {
    let mut kinds: Vec<Kind> = Vec::new();
    let (index_path, node_name) = match ground.path_item(slot) {
        Some(ItemType::NameOf(_)) => return None,
        Some(ItemType::Node {
            aliases,
            index_path,
            node_name,
        }) => {
            kinds.extend(aliases.iter().cloned());
            (*index_path, *node_name)
        }
        Some(_) => (true, false),
        None => {
            let alias = nodes.aliases.iter().find(|kind| {
                ground
                    .asks(slot, kind)
                    .is_some_and(|reference| reference.form.separator.is_none())
            })?;
            return Some(ItemType::Node {
                aliases: [Kind::new(alias)].into(),
                index_path: ground.index_paths().is_some(),
                node_name: false,
            });
        }
    };
    // An alias might stand here as well, if there are any; but names are taken for those of the scene.
    for alias in nodes.aliases.iter().filter(|_| index_path) {
        let kind = Kind::new(alias);
        if !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    Some(ItemType::Node {
        aliases: kinds.into(),
        index_path,
        node_name,
    })
}

impl Nodes {
    /// Adds the aliases of a record.
    pub(super) fn learn(
        &mut self,
        ground: &Ground<'_>,
        record: &Record,
        group: usize,
        name: &Field,
        path: &Field,
    ) {
        if let Some(kind) = ground.gives(name.slot)
            && !self.aliases.iter().any(|known| known == kind)
        {
            self.aliases.push(kind.to_owned());
        }
        let documents = &ground.survey.groups[group].documents;
        let (names, paths) = (
            name.by_row(record.rows.len()),
            path.by_row(record.rows.len()),
        );
        for (at, (document, _)) in record.rows.iter().enumerate() {
            if let (Some(name), Some(path)) = (names[at], paths[at]) {
                let document = documents[*document as usize];
                self.paths.entry((document, name)).or_insert(path);
            }
        }
    }

    /// The node that a value of a document of the corpus means.
    pub(super) fn find<'a>(
        &self,
        ground: &Ground<'a>,
        document: u32,
        value: Symbol,
    ) -> Option<(&'a Scene, NodeIndex)> {
        if let Some(path) = self.paths.get(&(document, value)) {
            return ground.walk(document, ground.text(*path));
        }
        ground.walk(document, ground.text(value))
    }

    /// Per row, the node that a field means.
    pub(super) fn of_rows<'a>(
        &self,
        ground: &Ground<'a>,
        records: &Records,
        record: &Record,
        field: &Field,
    ) -> Vec<Option<&'a Node>> {
        let documents = &ground.survey.groups[records.group].documents;
        let values = field.by_row(record.rows.len());
        let rows = record.rows.iter().zip(values);
        rows.map(|((document, _), value)| {
            let (scene, node) = self.find(ground, documents[*document as usize], value?)?;
            scene.get(node)
        })
        .collect()
    }
}
