//! Aliases, wheels, sounds, scenes, and what manifests list.

use super::channels::Channel;
use super::columns::Column;
use super::ground::{Ground, Nodes};
use super::proposal::{Proposal, word};
use super::records::{Field, Record, Records};
use crate::contexts::ContextId;
use crate::names::SlotRef;
use crate::surroundings::extension;
use dialect::{ItemType, Kind, ValueType};
use foldhash::HashSet;

/// Endings of recordings, as the formats' own documents name them.
const RECORDINGS: [&str; 9] = [
    "ogg", "oga", "opus", "wav", "flac", "mp3", "m4a", "aiff", "aif",
];

/// Endings of glTF.
const SCENES: [&str; 2] = ["gltf", "glb"];

pub(super) fn path_of(ground: &Ground<'_>, group: usize, context: ContextId) -> String {
    ground.survey.groups[group]
        .contexts
        .path(context, ground.survey.corpus)
}

/// Elements that give a name to a node.
pub(super) fn aliases(ground: &Ground<'_>, records: &Records, nodes: &mut Nodes) -> Vec<Proposal> {
    let found = records.all.iter().filter_map(|record| {
        let (proposal, name, path) = alias(ground, records.group, record)?;
        nodes.learn(ground, record, records.group, name, path);
        Some(proposal)
    });
    found.collect()
}

/// The elements of a record as aliases, if they are some: with what gives the name, and what leads to the node.
fn alias<'r>(
    ground: &Ground<'_>,
    group: usize,
    record: &'r Record,
) -> Option<(Proposal, &'r Field, &'r Field)> {
    let near = |field: &&Field| {
        field.down <= 1 && !field.several && record.share(field) >= 0.9 && !field.path.contains(':')
    };
    let fields: Vec<&Field> = record.fields.iter().filter(near).collect();
    let leads = |slot| ground.is_index_path(slot) || ground.is_node_name(slot);
    let path = *fields.iter().find(|field| leads(field.slot))?;
    let mut names = fields.iter();
    let (name, kind) = names.find_map(|field| Some((*field, ground.gives(field.slot)?)))?;
    let (mixed, asking) = (mixed(ground, kind), asking(ground, group, kind));
    // With a dot between its numbers a short path looks like one number.
    let mut others = fields.iter().filter(|field| field.slot != path.slot);
    let has_numbers = others.any(|field| {
        Column::of(ground, record, field).all_single(|value| value.number().is_some())
    });
    let is_named = ground.is_node_name(path.slot);
    let confidence = match (mixed, asking, has_numbers) {
        // Whatever is fixed to a node has a name of its own and that of the node.
        (_, 0, _) | (_, _, true) if is_named => return None,
        _ if is_named && record.fields.len() > 3 => return None,
        (1.., _, _) => 0.97,
        (0, 1.., false) => 0.9,
        (0, 0, false) if record.fields.len() <= 3 => 0.55,
        _ => return None,
    };
    let mut proposal = Proposal {
        role: word::ALIAS,
        at: path_of(ground, group, record.context),
        confidence,
        ..Proposal::default()
    };
    proposal.set(word::NAME, &name.path);
    proposal.set(word::PATH, &path.path);
    let (what, path_item) = match is_named {
        true => ("a name in the scene", crate::node_names::item()),
        false => ("an index path", ItemType::IndexPath),
    };
    let reason = format!("{what} that leads to a node, and a name for it");
    proposal.reasons.push(reason);
    if mixed + asking > 0 {
        proposal.reasons.push(match mixed.max(asking) {
            1 => "the name is asked for in another sort of place".to_owned(),
            sorts => format!("the name is asked for in {sorts} other sorts of places"),
        });
    }
    let named = ItemType::NameOf(Kind::new(kind));
    for (slot, item) in [(name.slot, named), (path.slot, path_item)] {
        proposal.types.push((slot, ValueType::single(item)));
    }
    Some((proposal, name, path))
}

/// How many places hold names of a kind or paths to nodes.
fn mixed(ground: &Ground<'_>, kind: &str) -> usize {
    let types = ground.paths.types.values();
    let mixed = types.filter(|told| match &told.item {
        ItemType::Node { aliases, .. } => aliases.iter().any(|alias| alias.as_str() == kind),
        _ => false,
    });
    mixed.count()
}

/// How many places of a group ask for names of a kind.
fn asking(ground: &Ground<'_>, group: usize, kind: &str) -> usize {
    let slots = 0..ground.survey.groups[group].slots.len();
    let slots = slots.map(|slot| SlotRef { group, slot });
    let asking = slots.filter(|slot| ground.asks(*slot, kind).is_some());
    asking.count()
}

/// Whether an alias is one: where nodes can be called by their own names, something that moves must be called by it.
pub(super) fn is_of_use(ground: &Ground<'_>, alias: &Proposal, channels: &[Channel]) -> bool {
    let named = alias.types.iter().find_map(|(_, told)| match &told.item {
        ItemType::NameOf(kind) => Some(kind.as_str()),
        _ => None,
    });
    let is_by_name = alias
        .types
        .iter()
        .any(|(slot, _)| ground.is_node_name(*slot));
    let moves = |kind| {
        let mut slots = channels.iter().map(|channel| channel.node.slot);
        slots.any(|slot| ground.asks(slot, kind).is_some())
    };
    !is_by_name || named.is_some_and(moves)
}

/// Elements with the name of a recording.
pub(super) fn sounds(ground: &Ground<'_>, records: &Records) -> Vec<Proposal> {
    let mut found: Vec<Proposal> = Vec::new();
    for (record, file) in with_files(ground, records, &|end| RECORDINGS.contains(&end)) {
        let mut proposal = Proposal {
            role: word::SOUND,
            at: path_of(ground, records.group, record.context),
            confidence: 0.95,
            reasons: vec!["it names files whose ends are those of recordings".into()],
            ..Proposal::default()
        };
        let mut fields = record
            .fields
            .iter()
            .filter(|field| !field.several && field.down <= 1);
        match fields.find(|field| ground.gives(field.slot).is_some()) {
            Some(name) => {
                proposal.set(word::NAME, &name.path);
                proposal.types.push((name.slot, name_type(ground, name)));
            }
            None => proposal.confidence -= 0.1,
        }
        proposal.set(word::FILE, &file.path);
        found.push(proposal);
    }
    found
}

pub(super) fn name_type(ground: &Ground<'_>, name: &Field) -> ValueType {
    let kind = Kind::new(ground.gives(name.slot).unwrap_or(word::NAME));
    ValueType::single(ItemType::NameOf(kind))
}

/// The innermost elements that name files of some sort: with the name in them or in an element that
/// holds nothing else.
fn with_files<'r>(
    ground: &Ground<'_>,
    records: &'r Records,
    is_of: &dyn Fn(&str) -> bool,
) -> Vec<(&'r Record, &'r Field)> {
    let fits = |field: &Field| {
        let ends = field.values.iter().take(200);
        let (mut good, mut all) = (0, 0);
        for (_, value) in ends {
            all += 1;
            good += usize::from(extension(ground.text(*value)).is_some_and(|end| is_of(&end)));
        }
        all > 0 && good * 10 >= all * 9
    };
    let mut found = Vec::new();
    for record in &records.all {
        for field in record
            .fields
            .iter()
            .filter(|field| field.down == 0 && ground.is_file(field.slot))
        {
            if !fits(field) {
                continue;
            }
            // An element that is nothing but the value belongs to the one around it.
            let parent = ground.survey.groups[records.group]
                .contexts
                .parent(record.context);
            let lifted = parent
                .filter(|_| record.fields.len() == 1)
                .and_then(|parent| {
                    let around = records.get(parent);
                    let field = around
                        .fields
                        .iter()
                        .find(|known| known.slot == field.slot && !known.several)?;
                    let has_more = around.fields.iter().any(|known| {
                        known.slot != field.slot
                            && ground.gives(known.slot).is_some()
                            && known.down <= 1
                    });
                    (has_more && around.rows.len() > 1).then_some((around, field))
                });
            found.push(lifted.unwrap_or((record, field)));
        }
    }
    found
}

/// The place where a machine names its scene.
pub(super) fn scene(ground: &Ground<'_>, records: &Records) -> Option<Proposal> {
    let group = &ground.survey.groups[records.group];
    let mut best: Option<(f64, Proposal)> = None;
    for record in &records.all {
        for field in record
            .fields
            .iter()
            .filter(|field| field.down == 0 && ground.is_file(field.slot))
        {
            let values = field.values.iter().take(400);
            let (mut named, mut led) = (0_usize, 0_usize);
            for (row, value) in values {
                let text = ground.text(*value);
                named +=
                    usize::from(extension(text).is_some_and(|end| SCENES.contains(&end.as_str())));
                let document = group.documents[record.rows[*row as usize].0 as usize];
                let name = text
                    .rsplit(['/', '\\'])
                    .next()
                    .unwrap_or_default()
                    .to_lowercase();
                let mut files = ground.files.named.get(&document).into_iter().flatten();
                let is_scene = files
                    .any(|path| path.to_lowercase().ends_with(&name) && (ground.is_scene)(path));
                led += usize::from(is_scene);
            }
            let all = field.values.len().min(400);
            let share = named.max(led) as f64 / all.max(1) as f64;
            if share < 0.8 || best.as_ref().is_some_and(|(known, _)| *known >= share) {
                continue;
            }
            let mut proposal = Proposal {
                role: word::SCENE,
                at: path_of(ground, records.group, record.context),
                confidence: 0.85 + 0.13 * (led as f64 / all as f64),
                reasons: vec![format!("{led} of {all} files it names are scenes")],
                ..Proposal::default()
            };
            proposal.set(word::FILE, &field.path);
            best = Some((share, proposal));
        }
    }
    best.map(|(_, proposal)| proposal)
}

/// Where a manifest names machines. `machines`: the group of the machines' definitions.
pub(super) fn listing(
    ground: &Ground<'_>,
    records: &Records,
    machines: &[usize],
) -> Option<Proposal> {
    let corpus = ground.survey.corpus;
    let mut machine_files: HashSet<String> = HashSet::default();
    for group in machines {
        let documents = ground.survey.groups[*group].documents.iter();
        machine_files.extend(documents.map(|at| {
            let path = crate::surroundings::path(&corpus.documents[*at as usize].source);
            crate::surroundings::split(&path).1.to_lowercase()
        }));
    }
    for record in &records.all {
        for field in record
            .fields
            .iter()
            .filter(|field| field.down == 0 && ground.is_file(field.slot))
        {
            let all = field.values.len();
            let listed = field.values.iter().filter(|(_, value)| {
                let name = ground
                    .text(*value)
                    .rsplit(['/', '\\'])
                    .next()
                    .unwrap_or_default();
                machine_files.contains(&name.to_lowercase())
            });
            let listed = listed.count();
            if listed * 2 < all.max(1) {
                continue;
            }
            let mut proposal = Proposal {
                role: word::LISTING,
                at: path_of(ground, records.group, record.context),
                confidence: 0.7 + 0.28 * listed as f64 / all as f64,
                reasons: vec![format!(
                    "{listed} of {all} files it names are definitions of machines"
                )],
                ..Proposal::default()
            };
            proposal.set(word::FILE, &field.path);
            return Some(proposal);
        }
    }
    None
}
