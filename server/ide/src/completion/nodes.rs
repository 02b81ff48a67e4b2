//! Index paths and names of the scene's nodes.

use crate::node_paths::names_to;

use super::{
    About, CompletionItem, CompletionKind,
    values::{Proposals, Wanted, holds},
};

/// The names of nodes, as far as they lead to one node, in the order of the scene.
pub(super) fn names(wanted: &Wanted<'_, '_>, list: &mut Proposals) {
    let Some(scene) = wanted.view.scene() else {
        return;
    };
    let typed = wanted.typed.trim().to_lowercase();
    let last = match &wanted.dialect.notation.node_names.separator {
        Some(mark) => typed.rsplit(mark.as_str()).next().unwrap_or_default(),
        None => typed.as_str(),
    };
    let mut found: Vec<_> = scene
        .ids()
        .filter(|id| {
            let above = scene[*id].parent.map_or("", |above| &scene[above].name);
            holds(&scene[*id].name, last) || holds(above, &typed)
        })
        .map(|id| (id, scene[id].name.as_str()))
        .collect();
    list.shorten(&mut found, "", |(_, name)| name);
    for (id, _) in found {
        let Some(path) = names_to(wanted.dialect, scene, id) else {
            continue;
        };
        let written = wanted.dialect.notation.write_node_path(&path);
        list.add(
            CompletionItem::new(CompletionKind::Node, &written, written.as_str())
                .detail(
                    wanted
                        .dialect
                        .notation
                        .index_path
                        .label(&scene.index_path(id)),
                )
                .about(About::Node(scene.index_path(id))),
        );
    }
}

/// The nodes that what is typed may mean, by path or by name: those directly
/// below the typed path first, else in the order of the scene.
pub(super) fn paths(wanted: &Wanted<'_, '_>, list: &mut Proposals) {
    let Some(scene) = wanted.view.scene() else {
        return;
    };
    let notation = &wanted.dialect.notation.index_path;
    let typed = wanted.typed.trim();
    let folded = typed.to_lowercase();
    let parent = [&notation.separator, &notation.after_root]
        .into_iter()
        .filter(|mark| !mark.is_empty())
        .filter_map(|mark| typed.strip_suffix(mark.as_str()))
        .find_map(|above| scene.walk(&notation.parse(above).ok()?).ok());
    let mut found = Vec::new();
    let mut path: Vec<u32> = Vec::new();
    let mut depths: Vec<u32> = Vec::new();
    // Parents come before children: the path of each node grows out of the one before.
    for id in scene.ids() {
        while depths.last().is_some_and(|&end| id.0 >= end) {
            depths.pop();
            path.pop();
        }
        let node = &scene[id];
        depths.push(node.end.0);
        path.push(node.position);
        let Some(written) = notation.write(&path) else {
            continue;
        };
        let fits = written.starts_with(typed) || holds(&node.name, &folded);
        if fits {
            let is_child = parent.is_some() && node.parent == parent;
            found.push((!is_child, written, id));
        }
    }
    found.sort_by_key(|(later, ..)| *later);
    // All of these hold what is typed, by path or by name.
    list.shorten(&mut found, "", |(_, written, _)| written);
    list.items.extend(found.into_iter().map(|(_, written, id)| {
        let name = &scene[id].name;
        CompletionItem::new(CompletionKind::Node, &written, written.as_str())
            .detail(name.as_str())
            .filter(format!("{written} {name}"))
            .about(About::Node(scene.index_path(id)))
    }));
}
